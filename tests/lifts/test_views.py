"""The pages for kits, fittings, removals and wheels off, by role and site."""

import re
from datetime import timedelta

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import conditional_escape

from fleet.kinds import register
from lifts.actions import fit, remove_lift, replace_kit
from lifts.kit_lines import write_joints
from lifts.models import Fitting, Kit, Removal, WheelOff
from shared import clock
from shared.models import Role, new_id
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.lift_factories import (
    JOINT_LINES,
    POINT_LINES,
    a_cart,
    a_kit,
    a_site,
    kit_value,
    with_role,
)
from tests.lifts.visiting import a_visit

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=30)
READERS = {Role.MANAGER, Role.MECHANIC, Role.SURVEYOR}
WORKERS = {Role.MANAGER, Role.MECHANIC}


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def place():
    return a_site()


@pytest.fixture
def site(place):
    return place[0]


@pytest.fixture
def manager(place):
    return place[1]


@pytest.fixture
def kit(site, manager):
    return a_kit(site, manager)


@pytest.fixture
def cart(site, manager):
    return a_cart(site, manager)


def addresses(site, kit, cart):
    fitting = Fitting.objects.filter(cart=cart).first()
    return {
        "kit-list": (reverse("kit-list", args=[site.slug]), READERS),
        "kit-detail": (reverse("kit-detail", args=[site.slug, kit.pk]), READERS),
        "kit-create": (reverse("kit-create", args=[site.slug]), {Role.MANAGER}),
        "kit-replace": (reverse("kit-replace", args=[site.slug, kit.pk]), {Role.MANAGER}),
        "fitting-create": (reverse("fitting-create", args=[site.slug, cart.pk]), WORKERS),
        "fitting-remove": (
            reverse("fitting-remove", args=[site.slug, cart.pk, fitting.pk]),
            WORKERS,
        ),
        "wheel-off-create": (reverse("wheel-off-create", args=[site.slug, cart.pk]), WORKERS),
    }


PAGES = [
    "kit-list",
    "kit-detail",
    "kit-create",
    "kit-replace",
    "fitting-create",
    "fitting-remove",
    "wheel-off-create",
]


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("role", Role.values)
def test_a_page_is_for_its_roles_at_its_own_site(client, site, manager, kit, cart, role, name):
    fit(cart, kit, by=manager, at=MORNING)
    other, _its_manager = a_site("hills")
    person = with_role(site, manager, role)
    url, roles = addresses(site, kit, cart)[name]
    client.force_login(person)

    own = client.get(url)
    elsewhere = client.get(url.replace(f"/{site.slug}/", f"/{other.slug}/", 1))

    assert own.status_code == (200 if role in roles else 404)
    assert elsewhere.status_code == 404


@pytest.mark.parametrize("name", PAGES)
def test_a_page_sends_a_visitor_to_sign_in(client, site, manager, kit, cart, name):
    fit(cart, kit, by=manager, at=MORNING)
    url, _roles = addresses(site, kit, cart)[name]

    assert client.get(url).url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("name", PAGES)
def test_a_page_shows_nothing_of_another_site(client, site, manager, kit, cart, name):
    """A manager of another site, by his own site's address and our ids."""
    fit(cart, kit, by=manager, at=MORNING)
    other, stranger = a_site("hills")
    client.force_login(stranger)
    url, _roles = addresses(site, kit, cart)[name]

    answer = client.get(url.replace(f"/{site.slug}/", f"/{other.slug}/", 1))

    if name in ("kit-list", "kit-create"):
        assert kit.name not in answer.content.decode()
    else:
        assert answer.status_code == 404


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_of_kits_costs_the_same_however_long(
    client, site, manager, count, django_assert_num_queries
):
    for number in range(count):
        a_kit(site, manager, code=f"kit-{number}")
    other, its_manager = a_site("hills")
    a_kit(other, its_manager)
    client.force_login(manager)

    with django_assert_num_queries(5):
        answer = client.get(reverse("kit-list", args=[site.slug]))

    assert len(answer.context["table"].data) == count


def test_the_list_of_kits_counts_joints_and_those_without_target(client, site, manager):
    lines = "joint | family | target\nrack | steering-joints | 30 N.m\nframe | other-joints |"
    form = {"joints": lines, "points": POINT_LINES}
    client.force_login(manager)
    client.post(reverse("kit-create", args=[site.slug]), sent_kit(**form))

    answer = client.get(reverse("kit-list", args=[site.slug]), {"file": "csv"})

    rows = b"".join(answer.streaming_content).decode().splitlines()
    assert rows[1].split(",")[:7] == [
        "Trial kit",
        "trial-kit",
        "edition 1",
        "drop spindle",
        "block",
        "2",
        "1",
    ]
    assert len(rows) == 2


@pytest.mark.parametrize("lines", [1, 3])
def test_a_kits_page_costs_the_same_however_many_joints(
    client, site, manager, lines, django_assert_num_queries
):
    joints = kit_value()["joints"][:lines]
    kit = a_kit(site, manager, joints=joints)
    client.force_login(manager)

    with django_assert_num_queries(7):
        client.get(reverse("kit-detail", args=[site.slug, kit.pk]))


def test_a_kits_joints_come_as_a_file_too(client, site, manager, kit):
    client.force_login(manager)

    answer = client.get(reverse("kit-detail", args=[site.slug, kit.pk]), {"file": "csv"})

    rows = b"".join(answer.streaming_content).decode().splitlines()
    assert len(rows) == 9
    assert rows[1].startswith("left front lugs,wheel lugs,left front,4,1/2-20,,59.0 lbf·ft,")


def test_a_kits_page_shows_targets_in_the_sites_units(client, site, manager, kit):
    client.force_login(manager)

    page = client.get(reverse("kit-detail", args=[site.slug, kit.pk])).content.decode()

    assert "59.0 lbf·ft" in page  # 80 N.m
    assert "castle nut and pin" in page


def sent_kit(**changes):
    sent = {
        "act": str(new_id()),
        "code": "trial-kit",
        "name": "Trial kit",
        "edition": "edition 1",
        "front": "drop spindle",
        "rear": "block",
        "rise_front": "3",
        "rise_rear": "76.2 mm",
        "joints": JOINT_LINES,
        "points": POINT_LINES,
    }
    return sent | changes


def test_a_manager_adds_a_kit(client, site, manager):
    client.force_login(manager)

    answer = client.post(reverse("kit-create", args=[site.slug]), sent_kit())

    kit = Kit.objects.get()
    assert answer.url == kit.get_absolute_url()
    assert (str(kit.rise_front_mm), str(kit.rise_rear_mm)) == ("76.200", "76.200")
    assert kit.joints.count() == 8


def test_a_wrong_line_of_a_kit_is_named_and_what_was_typed_stays(client, site, manager):
    client.force_login(manager)
    wrong = JOINT_LINES + "axle | axles | | 2"

    answer = client.post(reverse("kit-create", args=[site.slug]), sent_kit(joints=wrong))

    assert not Kit.objects.exists()
    [said] = answer.context["form"].errors["joints"]
    assert said.startswith("Line 10, family “axles”: one of: lugs")
    assert "axle | axles" in answer.content.decode()


def test_a_code_in_use_is_said_in_the_form(client, site, manager, kit):
    client.force_login(manager)

    answer = client.post(reverse("kit-create", args=[site.slug]), sent_kit())

    assert list(answer.context["form"].errors) == ["code"]
    assert Kit.objects.count() == 1


def test_a_new_edition_begins_with_the_old_ones_lists(client, site, manager, kit):
    client.force_login(manager)
    url = reverse("kit-replace", args=[site.slug, kit.pk])

    begun = client.get(url).context["form"].initial
    client.post(url, sent_kit(edition="edition 2", joints=begun["joints"]))

    old, new = Kit.objects.order_by("from_at")
    assert (old.edition, new.edition) == ("edition 1", "edition 2")
    assert begun["joints"] == write_joints(new.joints.order_by("place").values())


def test_a_kit_shows_its_rise_to_a_tenth_and_its_stages_with_arrows(client, site, manager):
    lines = "joint | family | stages\nrack | steering-joints | 50 % -> 80 %"
    client.force_login(manager)
    client.post(
        reverse("kit-create", args=[site.slug]), sent_kit(joints=lines, rise_front="102 mm")
    )

    page = client.get(Kit.objects.get().get_absolute_url()).content.decode()

    assert ", 4.0 in<" in page
    assert "50 % → 80 %" in page


def test_an_edition_replaced_meanwhile_is_said(client, site, manager, kit):
    replace_kit(kit, kit_value(edition="edition 2"), by=manager, at=MORNING)
    client.force_login(manager)

    answer = client.post(
        reverse("kit-replace", args=[site.slug, kit.pk]), sent_kit(edition="edition 3")
    )

    assert answer.context["form"].non_field_errors() == [
        "A newer edition of this kit is in force already"
    ]


def sent_fitting(kit, **changes):
    sent = {
        "act": str(new_id()),
        "done_on": "2026-04-01",
        "kit": str(kit.pk),
        "paperwork": "full",
        "rise_front": "3 1/8",
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

    client.post(url, sent_fitting(kit, done_on="2026-03-20"))

    fitting = Fitting.objects.get()
    assert fitting.done_at.isoformat() == "2026-03-20T16:00:00+00:00"
    assert fitting.day_only


@pytest.mark.parametrize("day", ["2026-04-02", "2026-03-01"])
def test_a_fitting_tomorrow_or_before_the_cart_joined_is_refused(
    client, site, manager, kit, cart, day
):
    client.force_login(manager)
    url = reverse("fitting-create", args=[site.slug, cart.pk])

    answer = client.post(url, sent_fitting(kit, done_on=day))

    assert list(answer.context["form"].errors) == ["done_on"]
    assert not Fitting.objects.exists()


def test_a_fitting_sent_twice_is_one(client, site, manager, kit, cart):
    client.force_login(manager)
    url, sent = reverse("fitting-create", args=[site.slug, cart.pk]), sent_fitting(kit)

    answers = [client.post(url, sent).status_code for _press in range(2)]

    assert (answers, Fitting.objects.count()) == ([302, 302], 1)


def test_only_editions_in_force_at_the_site_can_be_fitted(client, site, manager, kit, cart):
    new = replace_kit(kit, kit_value(edition="edition 2"), by=manager, at=MORNING)
    other, its_manager = a_site("hills")
    a_kit(other, its_manager)
    client.force_login(manager)

    page = client.get(reverse("fitting-create", args=[site.slug, cart.pk]))

    assert list(page.context["form"].fields["kit"].queryset) == [new]


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


@pytest.mark.parametrize(
    "code", ["joints", "grease", "tyres", "hub-play", "brake", "label", "speed"]
)
def test_each_part_of_a_round_can_be_drawn_empty_and_with_errors(cart, kit, manager, code):
    fit(cart, kit, by=manager, at=MORNING)
    part, visit = register.parts[code], a_visit(cart, NOW)

    for form in (part.form(visit), part.form(visit, {})):
        page = render_to_string(part.template, {"form": form, "part": part})
        assert all(caution in page for caution in map(conditional_escape, part.cautions))
        assert "not_done" in page
        # the browser would ask for what "not done" leaves out
        assert not re.search(r"<(input|select|textarea)[^>]* required", page)
        assert page.count("errorlist") == len(form.errors)


def test_the_block_on_a_carts_page_tells_its_lifts(client, site, manager, kit, cart):
    fit(cart, kit, by=manager, at=MORNING, firm="Own shop")
    [block] = [one for one in register.blocks if one.__module__ == "lifts.chapters"]

    template, context = block(cart, Viewer(manager, NOW))

    page = render_to_string(template, context)
    assert "Trial kit, edition 1" in page
    assert reverse("fitting-remove", args=[site.slug, cart.pk, Fitting.objects.get().pk]) in page


def test_the_block_offers_a_surveyor_nothing_to_write(site, manager, kit, cart):
    fit(cart, kit, by=manager, at=MORNING)
    surveyor = with_role(site, manager, Role.SURVEYOR)
    [block] = [one for one in register.blocks if one.__module__ == "lifts.chapters"]

    template, context = block(cart, Viewer(surveyor, NOW))

    assert "/fit/" not in render_to_string(template, context)


def test_the_block_of_a_cart_never_lifted_says_so(manager, cart):
    [block] = [one for one in register.blocks if one.__module__ == "lifts.chapters"]

    template, context = block(cart, Viewer(manager, NOW))

    assert "No lift on record." in render_to_string(template, context)
