"""The use of each class and the limits of lay-ups, changed on the rule book's page."""

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import meters, project, register, sites
from fleet.default_rules import book_from_json, book_to_json, default_book
from fleet.forms.book import BookForm
from fleet.layup import LayUpLimits
from fleet.models import RuleBook
from fleet.rule_words import lay_up_lines
from fleet.rulebook import Average
from shared.mistakes import mistakes_of
from shared.models import Change
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db
MILE_M = Decimal("1609.344")
DAY = timedelta(days=1)


@pytest.fixture
def here():
    return a_site()


@pytest.fixture
def signed_in(client, here):
    client.force_login(here[1])
    return client


def url_of(site, version=1):
    return reverse("book-change", args=[site.slug, version])


def sent(form, **changes):
    """Return what a browser sends of a form as it is shown, some of it changed."""
    shown = {name: form.get_initial_for_field(field, name) for name, field in form.fields.items()}
    shown |= {"reason": "Two seasons of readings"} | changes
    return {name: "" if value is None else value for name, value in shown.items()}


def bound(book=None, units="inch", **changes):
    book = book or default_book()
    return BookForm(sent(BookForm(book=book, units=units), **changes), book=book, units=units)


def newest(site):
    return book_from_json(RuleBook.objects.filter(site=site).latest("version").rules)


def test_a_mistake_names_the_use_that_it_is_of():
    form = bound(shuttle_hours="", void_metres="far")

    assert [(where, said[:40]) for where, _title, said in mistakes_of(form)] == [
        ("id_void_metres", "A lay-up is void with more use than: Dis"),
        ("id_shuttle_hours", "shuttle: Hours: Give both hours and a di"),
    ]


def test_the_page_says_what_the_book_says_of_lay_ups(signed_in, here):
    page = signed_in.get(reverse("rule-book", args=[here[0].slug])).text

    assert "Pauses calendars for at most</dt><dd>240 days</dd>" in page
    assert "Void with more use than</dt><dd>1 h or 3 mi</dd>" in page
    assert url_of(here[0]) in page
    assert lay_up_lines(default_book(), "metric")[1][1] == "1 h or 4.8 km"


def test_figures_are_put_in_force_from_now_on_with_a_reason(signed_in, here):
    site, manager = here
    form = signed_in.get(url_of(site)).context["form"]
    changes = {
        "rental_hours": "4 1/2",
        "rental_metres": "20 km",
        "longest_days": "100",
        "void_hours": "2,5",
        "void_metres": "5",
    }

    response = signed_in.post(url_of(site), sent(form, **changes))

    row = RuleBook.objects.get(site=site, version=2)
    entry = Change.objects.get(pk=row.pk)
    before, book = default_book(), newest(site)
    assert response.url == reverse("rule-book", args=[site.slug])
    assert (entry.by, entry.reason) == (manager, "Two seasons of readings")
    assert row.in_force_from == entry.received_at
    assert book.averages == {
        **before.averages,
        "rental": Average(Decimal("4.5"), Decimal(20_000)),
    }
    assert book.lay_up == LayUpLimits(100, Decimal("2.5"), 5 * MILE_M)
    assert book.rules == before.rules


def test_figures_left_as_shown_stay_exact():
    form = bound(longest_days="239")

    assert form.is_valid(), form.errors
    limits = replace(default_book().lay_up, longest_days=239)
    assert form.made == replace(default_book(), lay_up=limits)


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({}, "__all__"),
        ({"reason": "", "longest_days": "9"}, "reason"),
        ({"longest_days": ""}, "longest_days"),
        ({"longest_days": "-1"}, "longest_days"),
        ({"rental_hours": ""}, "rental_hours"),
        ({"rental_hours": "0"}, "rental_hours"),
        ({"rental_metres": ""}, "rental_hours"),
        ({"rental_hours": "", "rental_metres": ""}, "rental_hours"),
        ({"rental_hours": "24.1"}, "rental_hours"),
        ({"rental_hours": "many"}, "rental_hours"),
        ({"rental_metres": "1001 km"}, "rental_metres"),
        ({"rental_metres": "5 h"}, "rental_metres"),
        ({"void_hours": ""}, "void_hours"),
        ({"void_metres": ""}, "void_hours"),
        ({"void_metres": "-1"}, "void_metres"),
    ],
)
def test_figures_that_cannot_be_are_refused_at_their_field(changes, name):
    assert list(bound(**changes).errors) == [name]


def test_a_class_without_an_average_may_stay_so_or_get_one():
    shore = default_book().averages["shore"]
    others = {name: one for name, one in default_book().averages.items() if name != "shore"}
    book = replace(default_book(), averages=others)

    without = bound(book, longest_days="9")
    given = bound(book, "metric", shore_hours="2.5", shore_metres="20")

    assert without.is_valid() and without.made.averages == others
    assert given.is_valid() and given.made.averages["shore"] == shore
    assert list(bound(book, shore_hours="2").errors) == ["shore_hours"]


def test_figures_from_an_old_version_change_nothing(signed_in, here):
    site, manager = here
    form = signed_in.get(url_of(site)).context["form"]
    book = book_to_json(default_book())
    sites.change_rules(site, book, reason="Meanwhile", by=manager, at=MORNING)

    response = signed_in.post(url_of(site), sent(form, longest_days="9"), follow=True)

    assert "changed in between" in response.text
    assert RuleBook.objects.filter(site=site).count() == 2
    assert newest(site).lay_up == LayUpLimits()


def test_a_change_moves_no_clock_that_runs_and_dates_the_next_one(signed_in, here):
    site, manager = here
    cart = a_cart(site, manager, use_class="staff")
    meters.fit_meter(cart, "hours", Decimal(50), unit="h", by=manager, at=MORNING)
    register.change_tyres(cart, "22 in", Decimal(550), by=manager, at=MORNING + DAY)
    lugs = cart.rechecks.filter(rule_code="tyre-size-lugs")
    before = list(lugs.values())
    form = signed_in.get(url_of(site)).context["form"]

    signed_in.post(url_of(site), sent(form, staff_hours="5", longest_days="9"))

    assert list(lugs.values()) == before
    assert project.differences([cart.pk]) == []
    at = RuleBook.objects.get(site=site, version=2).in_force_from + DAY
    register.change_tyres(cart, "23 in", Decimal(575), by=manager, at=at)
    old, new = lugs.order_by("anchor_on")
    assert ((old.due_on - old.anchor_on).days, old.ended) == (2, "void")
    assert ((new.due_on - new.anchor_on).days, new.ended) == (1, "")
