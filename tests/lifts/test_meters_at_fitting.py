"""The meters as they stood at a fitting, told by its form."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import project, sites
from fleet.actions.meters import add_reading, fit_meter
from fleet.models import Reading
from lifts.forms_fittings import FittingAgainForm, FittingForm
from lifts.models import Fitting
from shared import clock
from shared.models import new_id
from tests.factories import MORNING
from tests.fleet.importing_ways import bring
from tests.fleet.sheet_samples import csv_bytes
from tests.lift_factories import a_cart, with_role

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOW = MORNING + 29 * DAY


@pytest.fixture(autouse=True)
def now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


def tell(client, person, cart, kit, day="2026-03-29", **changes):
    about = {"act": str(new_id()), "done_on": day, "kit": str(kit.pk), "paperwork": "partial"}
    client.force_login(person)
    url = reverse("fitting-create", args=[cart.site.slug, cart.pk])
    return client.post(url, about | changes, follow=True)


def reading():
    names = ("hours_shown", "distance_shown", "done_at", "day_only", "brought_in", "source")
    return Reading.objects.values_list(*names).get()


def test_the_meters_are_read_as_of_the_fitting(client, site, manager, kit, cart):
    tell(client, with_role(site, manager), cart, kit, hours="412.5", distance="100 km")

    fitting = Fitting.objects.get()
    assert reading() == (
        *(Decimal("412.5"), Decimal("62.137"), fitting.done_at, True, False, "mechanic"),
    )
    assert Reading.objects.get().typed == "412.5; 100 km"
    assert project.differences([cart.pk]) == []


@pytest.mark.parametrize(("start", "hours"), [(9980, "9"), (100, "500")])
def test_a_fitting_with_a_hardly_likely_figure_sent_twice_is_one(
    client, site, manager, kit, cart, start, hours
):
    fit_meter(cart, "hours", start, unit="h", rolls_at=10_000, by=manager, at=MORNING)
    about = {"act": str(new_id()), "hours": hours, "as_read": "on"}
    for _press in range(2):
        tell(client, manager, cart, kit, **about)

    one = Reading.objects.get()
    assert (Fitting.objects.count(), one.hours_shown) == (1, Decimal(hours))
    assert one.hours_rolled == (hours == "9")


def test_of_today_the_meters_are_read_at_the_moment(client, site, manager, kit, cart):
    tell(client, manager, cart, kit, "2026-03-31", hours="0")

    assert reading() == (Decimal(0), None, NOW, False, False, "desk")


def test_an_old_lift_by_form_has_the_figures_that_it_has_by_sheet(
    client, tmp_path, site, manager, kit
):
    sites.change_site(site, {"start_day": site.day(NOW)}, by=manager, at=MORNING)
    by_form = a_cart(site, manager, "1")
    a_cart(site, manager, "2")
    headings = ["Cart", "Kit", "Fitted on", "Hours at fitting", "Distance at fitting"]
    row = ["2", kit.code, "2026-03-10", "412.5", "100 km"]

    tell(client, manager, by_form, kit, "2026-03-10", hours="412.5", distance="100 km")
    bring(tmp_path, csv_bytes([headings, row]), sheet="fittings")

    names = ("hours_shown", "distance_shown", "done_at", "day_only", "brought_in", "doubted")
    one, other = Reading.objects.values_list(*names)
    assert one == other


def test_none_told_is_no_reading(client, site, manager, kit, cart):
    tell(client, manager, cart, kit)

    assert Fitting.objects.count() == 1
    assert not Reading.objects.exists()


def test_more_than_was_read_later_is_refused(client, site, manager, kit, cart):
    add_reading(cart, by=manager, at=NOW - DAY, hours=Decimal(400))

    answer = tell(client, manager, cart, kit, hours="412.5")

    said = "Accepted: at most 400 h, shown on 03/30/2026"
    assert answer.context["form"].errors == {"hours": [said]}
    assert not Fitting.objects.exists()


def test_what_is_hardly_likely_is_asked_about_and_kept_as_doubted(client, site, manager, kit, cart):
    add_reading(cart, by=manager, at=NOW - 20 * DAY, hours=Decimal(100))

    answer = tell(client, manager, cart, kit, hours="412.5")
    tell(client, manager, cart, kit, hours="412.5", as_read="on")

    assert "or accept it as right" in answer.context["form"].errors["hours"][0]
    assert "The meters showed that" in answer.text
    assert Reading.objects.filter(doubted="questioned").count() == 1


def test_what_is_asked_in_one_case_alone_is_not_drawn_before(cart):
    form = FittingForm(cart, cart.site.day(NOW))

    assert not {"ran_since", "as_read"} & set(form.fields)


def test_told_again_the_meters_are_not_asked_anew(cart):
    form = FittingAgainForm(cart, cart.site.day(NOW))

    assert not {"hours", "distance"} & set(form.fields)
