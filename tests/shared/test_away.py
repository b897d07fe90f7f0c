"""Pages while the database is away: told so, with what becomes of what was sent."""

import sqlite3

import psycopg
import pytest
from django.db import OperationalError, ProgrammingError, connection
from django.test import Client
from django.urls import reverse

from fleet.models import Report
from shared import away
from shared.models import Role, new_id
from tests.lift_factories import a_cart, a_site, with_role


@pytest.fixture
def browser():
    return Client(raise_request_exception=False)


@pytest.fixture
def report(browser):
    """The address where somebody who is signed in reports a fault of a cart."""
    site, manager = a_site()
    browser.force_login(with_role(site, manager, Role.DESK))
    return reverse("report-create", args=[site.slug, a_cart(site, manager).pk])


def caused(error, cause):
    error.__cause__ = cause
    return error


def lost(error):
    """Have the database fail meanwhile, whatever is asked of it."""

    def ask(execute, *asked):
        raise error

    return connection.execute_wrapper(ask)


def sent(browser, address):
    return browser.post(address, {"act": str(new_id()), "noticed": "noise"})


@pytest.mark.django_db(transaction=True)
def test_a_page_that_is_sent_meanwhile_is_told_that_it_was_not_saved(browser, report):
    with lost(caused(OperationalError(), psycopg.OperationalError("gone"))):
        answer = sent(browser, report)

    assert (answer.status_code, answer["Retry-After"]) == (503, "10")
    assert "Nothing that you just sent was saved" in answer.content.decode()
    assert Report.objects.count() == 0


@pytest.mark.django_db
def test_a_page_that_is_only_read_says_to_load_it_again(browser, report):
    with lost(caused(OperationalError(), psycopg.errors.AdminShutdown())):
        answer = browser.get("/account/")

    assert answer.status_code == 503
    assert "Load this page again in a minute" in answer.content.decode()
    assert "just sent" not in answer.content.decode()


@pytest.mark.django_db
def test_a_fault_of_the_tool_itself_is_no_absence(browser, report):
    with lost(ProgrammingError("no such column")):
        answer = sent(browser, report)

    assert answer.status_code == 500


@pytest.mark.services
@pytest.mark.parametrize("limit", ["lock_timeout", "statement_timeout"])
@pytest.mark.django_db(transaction=True)
def test_one_who_waits_too_long_for_a_lock_is_told_that_nothing_was_saved(
    postgres, browser, report, limit
):
    with connection.cursor() as cursor:
        cursor.execute(f"SET {limit} = '300ms'")
    other = connection.copy()

    with other.cursor() as cursor:
        cursor.execute("BEGIN")
        cursor.execute("SELECT * FROM shared_journalhead FOR UPDATE")
        answer = sent(browser, report)
        cursor.execute("ROLLBACK")

    other.close()
    connection.close()
    assert answer.status_code == 503
    assert "Nothing that you just sent was saved" in answer.content.decode()
    assert Report.objects.count() == 0


def failing(code):
    error = sqlite3.OperationalError("it failed")
    error.sqlite_errorcode = code
    return caused(OperationalError(), error)


@pytest.mark.parametrize(
    ("error", "is_away"),
    [
        (failing(sqlite3.SQLITE_BUSY), True),
        (failing(sqlite3.SQLITE_BUSY_SNAPSHOT), True),
        (failing(sqlite3.SQLITE_ERROR), False),
        (failing(sqlite3.SQLITE_FULL), False),
        (caused(OperationalError(), psycopg.errors.LockNotAvailable()), True),
        (caused(OperationalError(), psycopg.errors.QueryCanceled()), True),
        (caused(OperationalError(), psycopg.errors.DiskFull()), False),
        (ValueError(), False),
        (None, False),
    ],
)
def test_which_errors_are_an_absence(error, is_away):
    assert away.is_away(error) is is_away
