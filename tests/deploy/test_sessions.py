"""A session that cannot be written costs nobody the page, which was saved before it."""

from contextlib import contextmanager

import psycopg
import pytest
from django.conf import settings
from django.contrib.sessions.backends.base import UpdateError
from django.contrib.sessions.middleware import SessionMiddleware
from django.db import InterfaceError, OperationalError, connection
from django.http import HttpResponse

from deploy.sessions import SessionStore

pytestmark = pytest.mark.django_db
LOST = [OperationalError("terminating connection"), InterfaceError("the connection is closed")]


@contextmanager
def no_session_written(error):
    """Have the database be gone for whoever writes a session."""

    def ask(execute, sql, *more):
        if "django_session" in sql and not sql.startswith("SELECT"):
            raise error from psycopg.OperationalError("gone")
        return execute(sql, *more)

    with connection.execute_wrapper(ask):
        yield


@pytest.fixture
def session():
    store = SessionStore()
    store.create()
    store["said"] = "yes"
    return store


@pytest.mark.parametrize("error", LOST)
def test_a_page_is_answered_though_its_session_is_not_written(rf, session, error):
    def save(request):
        request.session["cautions"] = "seen"
        return HttpResponse("Saved.")

    session.save()
    rf.cookies[settings.SESSION_COOKIE_NAME] = session.session_key
    with no_session_written(error):
        answer = SessionMiddleware(save)(rf.post("/"))

    assert answer.content == b"Saved."
    assert "cautions" not in SessionStore(session.session_key).load()


def test_a_session_that_was_ended_meanwhile_is_not_written(session):
    SessionStore(session.session_key).delete()

    with pytest.raises(UpdateError):
        session.save()


@pytest.mark.parametrize("error", LOST)
def test_a_session_that_is_to_begin_fails_with_the_database(session, error):
    with no_session_written(error), pytest.raises((OperationalError, InterfaceError)):
        session.create()


@pytest.mark.parametrize("error", LOST)
def test_a_lost_write_changes_nothing_that_is_kept(session, error):
    with no_session_written(error):
        session.save()

    assert "said" not in SessionStore(session.session_key).load()
    session.save()
    assert SessionStore(session.session_key).load()["said"] == "yes"
