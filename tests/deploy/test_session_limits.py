"""A session ends when nobody used it for twelve hours, and after seven days in all."""

import pytest
from django.contrib.sessions.models import Session
from django.db import OperationalError
from django.urls import reverse

from deploy import session_limits
from deploy.session_limits import IDLE_S, IN_ALL_S, NOTED_EVERY_S
from tests.factories import PersonFactory

pytestmark = pytest.mark.django_db
BEGAN_S = 1_800_000_000


@pytest.fixture
def at(monkeypatch):
    """Set the clock that sessions are counted by."""

    def set_to(seconds):
        monkeypatch.setattr(session_limits, "time", lambda: BEGAN_S + seconds)

    set_to(0)
    return set_to


@pytest.fixture
def mia():
    return PersonFactory()


@pytest.fixture
def signed_in(client, mia, at):
    client.force_login(mia)
    return client


def is_let_in(client):
    return client.get(reverse("account")).status_code == 200


@pytest.mark.parametrize(("idle_s", "let_in"), [(IDLE_S, True), (IDLE_S + 1, False)])
def test_an_idle_session_ends(signed_in, at, idle_s, let_in):
    at(idle_s)

    assert is_let_in(signed_in) == let_in


def test_a_session_that_is_used_ends_after_seven_days_all_the_same(signed_in, at):
    for used_s in range(0, IN_ALL_S + 1, IDLE_S):
        at(used_s)
        assert is_let_in(signed_in)

    at(IN_ALL_S + 1)

    assert not is_let_in(signed_in)


def test_an_ended_session_is_gone(signed_in, at):
    key = signed_in.cookies["sessionid"].value
    at(IDLE_S + 1)
    is_let_in(signed_in)

    assert not signed_in.session.exists(key)


def test_signing_in_again_begins_anew(signed_in, mia, at):
    at(IN_ALL_S - IDLE_S)
    signed_in.force_login(mia)

    at(IN_ALL_S)

    assert is_let_in(signed_in)


def test_a_session_that_an_older_release_began_is_counted_from_its_first_use(signed_in, at):
    session = signed_in.session
    del session["signed_in_s"], session["used_s"]
    session.save()
    at(IDLE_S + 1)

    assert is_let_in(signed_in)

    at(2 * IDLE_S + 2)

    assert not is_let_in(signed_in)


@pytest.mark.parametrize(("later_s", "writes"), [(NOTED_EVERY_S, 0), (NOTED_EVERY_S + 1, 1)])
def test_use_is_noted_now_and_then(signed_in, at, later_s, writes, django_assert_max_num_queries):
    at(later_s)

    with django_assert_max_num_queries(50) as asked:
        signed_in.get(reverse("account"))

    updates = [one["sql"] for one in asked if "UPDATE" in one["sql"]]
    assert len([sql for sql in updates if "django_session" in sql]) == writes


def test_a_page_is_shown_where_no_session_can_be_written(signed_in, at, monkeypatch):
    def full(*args, **kwargs):
        raise OperationalError("database or disk is full")

    monkeypatch.setattr(Session, "save", full)
    at(NOTED_EVERY_S + 1)

    assert is_let_in(signed_in)
