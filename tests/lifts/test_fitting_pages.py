"""The pages for fittings, removals and wheels off, by what is sent."""

from datetime import timedelta

import pytest
from django.urls import reverse

from lifts.actions import fit, remove_lift, replace_kit
from lifts.models import Fitting, Removal, WheelOff
from shared import clock
from shared.models import new_id
from tests.factories import MORNING
from tests.lift_factories import a_kit, a_site, kit_value, with_role

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=30)


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


def sent_fitting(kit, **changes):
    sent = {
        "act": str(new_id()),
        "done_on": "2026-04-01",
        "kit": str(kit.pk),
        "paperwork": "full",
        "rise_front": "3 1/8",
        "fitted_by": "Ann of the shop",
    }
    return sent | changes


def test_a_mechanic_records_a_fitting_of_today(client, site, manager, kit, cart):
    client.force_login(with_role(site, manager))
    url = reverse("fitting-create", args=[site.slug, cart.pk])

    answer = client.post(url, sent_fitting(kit))

    fitting = Fitting.objects.get()
    assert answer.status_code == 302
    assert (fitting.done_at, fitting.day_only) == (NOW, False)
    assert (fitting.rise_front_typed, str(fitting.rise_front_mm)) == ("3 1/8", "79.375")


def test_a_fitting_of_an_earlier_day_stands_at_its_noon(client, site, manager, kit, cart):
    client.force_login(manager)
    url = reverse("fitting-create", args=[site.slug, cart.pk])

    client.post(url, sent_fitting(kit, done_on="2026-03-29"))

    fitting = Fitting.objects.get()
    assert fitting.done_at.isoformat() == "2026-03-29T16:00:00+00:00"
    assert fitting.day_only


@pytest.mark.parametrize("day", ["2026-04-02", "2026-03-01"])
def test_a_fitting_tomorrow_or_before_the_cart_joined_is_refused(
    client, site, manager, kit, cart, day
):
    client.force_login(manager)
    url = reverse("fitting-create", args=[site.slug, cart.pk])

    answer = client.post(url, sent_fitting(kit, done_on=day))

    assert list(answer.context["form"].errors) == ["done_on"]
    assert ("comes in by a sheet" in answer.text) == (day == "2026-03-01")
    assert not Fitting.objects.exists()


def test_a_fitting_sent_twice_is_one(client, site, manager, kit, cart):
    client.force_login(manager)
    url, sent = reverse("fitting-create", args=[site.slug, cart.pk]), sent_fitting(kit)

    answers = [client.post(url, sent).status_code for _press in range(2)]

    assert (answers, Fitting.objects.count()) == ([302, 302], 1)


def test_the_form_names_the_lift_that_another_one_ends(client, site, manager, kit, cart):
    client.force_login(with_role(site, manager))
    url = reverse("fitting-create", args=[site.slug, cart.pk])
    said = f"{kit} is on this cart since"

    assert said not in client.get(url).content.decode()
    client.post(url, sent_fitting(kit))
    assert said in client.get(url).content.decode()


def test_only_editions_in_force_at_the_site_can_be_fitted(client, site, manager, kit, cart):
    new = replace_kit(kit, kit_value(edition="edition 2"), by=manager, at=MORNING)
    other, its_manager = a_site("hills")
    a_kit(other, its_manager)
    client.force_login(manager)

    page = client.get(reverse("fitting-create", args=[site.slug, cart.pk]))

    assert list(page.context["form"].fields["kit"].queryset) == [new]


def test_the_form_says_what_comes_of_telling_a_removal_late(client, site, manager, kit, cart):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    client.force_login(manager)

    page = client.get(reverse("fitting-remove", args=[site.slug, cart.pk, fitting.pk]))

    assert "Told more than 7 days late, its work runs on until it is told." in page.text


def test_a_removal_on_the_day_of_the_fitting_comes_after_it(client, site, manager, kit, cart):
    fitted_at = MORNING + timedelta(hours=8)
    fitting = fit(cart, kit, by=manager, at=fitted_at)
    client.force_login(manager)

    client.post(
        reverse("fitting-remove", args=[site.slug, cart.pk, fitting.pk]),
        {"act": str(new_id()), "done_on": "2026-03-02", "reason": "wrong kit"},
    )

    assert Removal.objects.get().done_at == fitted_at


def test_a_lift_off_the_cart_already_is_said(client, site, manager, kit, cart):
    fitting = fit(cart, kit, by=manager, at=MORNING)
    remove_lift(fitting, "sold back", by=manager, at=MORNING + timedelta(days=1))
    client.force_login(manager)

    answer = client.post(
        reverse("fitting-remove", args=[site.slug, cart.pk, fitting.pk]),
        {"act": str(new_id()), "done_on": "2026-04-01", "reason": "again"},
    )

    assert answer.context["form"].non_field_errors() == ["This lift is off the cart already"]
    assert Removal.objects.count() == 1


def test_a_wheel_off_is_recorded(client, site, manager, kit, cart):
    fit(cart, kit, by=manager, at=MORNING)
    client.force_login(with_role(site, manager))

    client.post(
        reverse("wheel-off-create", args=[site.slug, cart.pk]),
        {"act": str(new_id()), "done_on": "2026-04-01", "wheel": "right rear"},
    )

    assert WheelOff.objects.get().wheel == "right rear"
