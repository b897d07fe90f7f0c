"""The pages for kits: their list, one kit, and the form of an edition."""

from datetime import timedelta

import pytest
from django.urls import reverse

from lifts.actions import replace_kit
from lifts.kit_lines import write_joints
from lifts.models import Kit
from shared import clock
from shared.models import new_id
from tests.factories import MORNING
from tests.lift_factories import JOINT_LINES, POINT_LINES, a_kit, a_site, kit_value

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=30)


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


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
