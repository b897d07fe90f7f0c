"""Lifts without papers, put on anew, and two of them side by side."""

from datetime import timedelta

import pytest
from django.urls import reverse

from fleet.models import Cart, Recheck
from lifts.actions import correct_fitting, fit, remove_lift
from lifts.models import Removal
from shared import clock
from shared.models import Role, new_id
from tests.factories import MORNING
from tests.lift_factories import with_role
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
NOW = MORNING + 30 * DAY


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


def baseline(cart):
    return Recheck.objects.filter(cart=cart, kind_code="baseline")


@pytest.mark.parametrize(("paperwork", "days"), [("none", [14]), ("partial", []), ("full", [])])
def test_a_lift_without_papers_is_looked_at_whole_within_a_fortnight(
    cart, kit, manager, paperwork, days
):
    fit(cart, kit, by=manager, at=MORNING, paperwork=paperwork)
    day = cart.site.day(MORNING)

    assert [(one.due_on - day).days for one in baseline(cart)] == days


def test_a_lift_found_long_after_its_fitting_is_looked_at_from_when_it_was_told(cart, kit, manager):
    about = {"done_at": MORNING, "paperwork": "none"}
    fitting = fit(cart, kit, by=manager, at=NOW, **about)
    correct_fitting(fitting, kit, (), reason="slip", by=manager, at=NOW + 9 * DAY, firm="Hills Ltd")

    [due] = baseline(cart)

    assert due.anchor_on == cart.site.day(NOW)
    assert Cart.objects.get(pk=cart.pk).is_unproven


def test_papers_that_turn_out_to_lack_ask_for_the_baseline_from_then(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING, paperwork="full")

    correct_fitting(fitting, kit, (), reason="lost", by=manager, at=NOW, paperwork="none")

    assert [one.anchor_on for one in baseline(cart)] == [cart.site.day(NOW)]


def test_papers_that_were_found_after_all_end_the_baseline(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING, paperwork="none")

    correct_fitting(fitting, kit, (), reason="found", by=manager, at=NOW, paperwork="full")

    assert not baseline(cart).exists()
    assert not Cart.objects.get(pk=cart.pk).is_unproven


def test_a_whole_round_proves_a_lift_without_papers(cart, kit, manager):
    fit(cart, kit, by=manager, at=MORNING, paperwork="none")

    a_round(cart, by=manager, at=MORNING + 3 * HOUR)

    assert [one.ended for one in baseline(cart)] == ["closed"]
    assert not Cart.objects.get(pk=cart.pk).is_unproven


def test_a_refit_begins_the_close_out_anew_and_keeps_the_old_history(cart, kit, manager):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    a_round(cart, by=manager, at=MORNING + 3 * HOUR)
    remove_lift(fitting, "sold back", by=manager, at=MORNING + DAY)
    off = set(Recheck.objects.filter(cart=cart, ended="void").values_list("void_reason", flat=True))

    again = fit(cart, kit, by=manager, at=MORNING + 2 * DAY)

    close_outs = Recheck.objects.filter(cart=cart, kind_code="fitting-close-out")
    found = close_outs.order_by("anchor_on").values_list("chapter", "ended")
    assert list(found) == [(fitting.pk, "closed"), (again.pk, "")]
    assert off == {"lift removed"}
    assert not Recheck.objects.filter(cart=cart, chapter=fitting.pk, ended="").exists()
    assert len(Cart.objects.get(pk=cart.pk).missing) == 13


def test_after_a_removal_the_page_says_what_to_do_with_label_and_joints(
    client, cart, kit, manager, site
):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    client.force_login(manager)
    url = reverse("fitting-remove", args=[site.slug, cart.pk, fitting.pk])
    note = "Take the warning label off where it says what is no longer true."
    assert note in client.get(url).text

    sent = {"act": str(new_id()), "done_on": "2026-04-01", "reason": "sold"}
    assert "look at the stock joints" in client.post(url, sent, follow=True).text
    assert note in client.get(cart.get_absolute_url()).text
    assert Removal.objects.count() == 1

    fit(cart, kit, by=manager, at=NOW)
    assert note not in client.get(cart.get_absolute_url()).text


@pytest.fixture
def twice(cart, kit, manager):
    first = fit(cart, kit, by=manager, at=MORNING, firm="Hills Ltd", fitted_by="Ann")
    second = fit(cart, kit, by=manager, at=MORNING + DAY, firm="Own shop", fitted_by="Ann")
    return first, second


def test_two_lifts_stand_side_by_side_with_a_word_where_they_differ(client, twice, cart, manager):
    site = cart.site
    client.force_login(with_role(site, manager, Role.SURVEYOR))
    url = reverse("fitting-compare", args=[site.slug, cart.pk])

    page = client.get(url)

    rows = {row.label: row for _title, group in page.context["groups"] for row in group}
    assert [one.fitting for one in page.context["pair"]] == list(twice)
    firm, fitter = rows["Firm, or own shop"], rows["Fitted by"]
    assert (firm.values, firm.differs) == (["Hills Ltd", "Own shop"], True)
    assert (fitter.values, fitter.differs) == (["Ann", "Ann"], False)
    assert page.text.count("<strong>differs</strong>") == 1
    assert url in client.get(cart.get_absolute_url()).text


def test_of_three_lifts_any_two_can_be_chosen(client, twice, cart, kit, manager):
    third = fit(cart, kit, by=manager, at=MORNING + 2 * DAY)
    client.force_login(manager)
    url = reverse("fitting-compare", args=[cart.site.slug, cart.pk])

    page = client.get(url, {"older": str(twice[0].pk), "newer": str(third.pk)})
    spoilt = client.get(url, {"older": "x", "newer": ""})

    assert [one.fitting for one in page.context["pair"]] == [twice[0], third]
    assert [one.fitting for one in spoilt.context["pair"]] == [twice[1], third]


def test_one_lift_has_nothing_beside_it(client, cart, kit, manager):
    fit(cart, kit, by=manager, at=MORNING)
    client.force_login(manager)
    url = reverse("fitting-compare", args=[cart.site.slug, cart.pk])

    assert client.get(url).status_code == 404
    assert url not in client.get(cart.get_absolute_url()).text
