"""The joint map, and the pages on which joints that a list lacks are seen and decided."""

import json
import re
from datetime import timedelta

import pytest
from django.urls import reverse

from fleet.actions.register import move_cart
from fleet.kinds import Cut
from fleet.models import Cart
from fleet.telling_facts import Where, detail_of, title_of
from lifts.actions import fit, remove_lift
from lifts.actions.extra_joints import decline_joint, end_joint, see_joint, take_up_joint
from lifts.extra_joints import DECLINED, ENDED, JOINT
from lifts.joint_map import map_of_cart
from lifts.kit_lines import read_joints
from lifts.models import Joint, JointSeen
from lifts.told_joints import differences
from lifts.visit_kit import fitting_on
from shared import clock
from shared.models import Change, Entry, Role, new_id
from tests.factories import MORNING
from tests.lift_factories import a_kit, a_site, joint_value, with_role
from tests.visiting import parts_of, visit

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=2)
WHO_SEES = {"name": "tow eye", "family": "other-joints", "count": "2", "wheel": "left rear"}


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def fitted(cart, kit, manager):
    fit(cart, kit, by=manager, at=MORNING)
    return Cart.objects.get(pk=cart.pk)


@pytest.fixture
def seen(fitted, manager):
    return saw(fitted, manager)


@pytest.fixture
def boss(client, manager):
    client.force_login(manager)
    return client


def saw(cart, by, name="tow eye"):
    about = {"name": name, "family": "other-joints", "note": "Bent"}
    return see_joint(cart, about, by=by, at=MORNING)


def took_up(cart, by, name="tow eye", **cells):
    return take_up_joint(saw(cart, by, name), joint_value(name, **cells), by=by, at=MORNING)


def page(client, name, cart, *more):
    return client.get(reverse(name, args=[cart.site.slug, cart.pk, *more]))


def send(client, url_name, cart, *more, **typed):
    sent = {"act": str(new_id()), **typed}
    return client.post(reverse(url_name, args=[cart.site.slug, cart.pk, *more]), sent)


def listed(response):
    """Return each line of the map's list: its number, what it says, without markup."""
    html = response.content.decode()
    items = re.findall(r"<li><span class=\"joint-map-mark\">.*?</li>", html, re.S)
    lines = [re.sub(r"<svg.*?</svg>|<[^>]+>", "", item) for item in items]
    return [" ".join(line.split()) for line in lines]


def test_the_map_says_of_each_joint_what_was_found_and_what_is_open(boss, fitted, kit, manager):
    def looks(joint):
        found = {"left U-bolts": "slack", "front frame": "not reached"}.get(joint.name)
        return {"found": found, "right_after": True} if found else {}

    took_up(fitted, manager)
    visit(fitted, parts_of(kit, ["joints"], looks=looks), by=manager, at=NOW - timedelta(hours=1))

    lines = listed(page(boss, "joint-map", fitted))

    assert lines[0].startswith("1 left front lugs · FIRM · 03/04/2026 ·")
    assert lines[3].startswith(
        "4 left U-bolts · SLACK · 03/04/2026 · Fitting close-out: stopped, and"
    )
    assert lines[7].startswith("8 front frame · NOT REACHED · 03/04/2026 ·")
    assert [line.partition(" · ")[0] for line in lines][-1] == "9 tow eye"


def test_what_was_never_looked_at_says_so(boss, fitted, manager):
    took_up(fitted, manager)

    lines = listed(page(boss, "joint-map", fitted))

    assert lines[-1].startswith("9 tow eye · never looked at ·")
    assert lines[-1].endswith("beside the kit’s list")
    assert len(lines) == 9


def test_the_drawing_has_each_joint_of_the_list_once(boss, fitted, manager):
    took_up(fitted, manager, "canopy strut")

    html = page(boss, "joint-map", fitted).content.decode()

    assert html.count('<g class="map-mark">') == 9
    assert "Not placed on the drawing:" in html
    assert "seen from below, front at the top" in html
    assert "<style" not in html
    assert "style=" not in html


def test_a_look_of_an_earlier_lift_is_not_on_the_map(fitted, kit, manager):
    looked = MORNING + timedelta(hours=1)
    visit(fitted, parts_of(kit, ["joints"]), by=manager, at=looked)
    fit(fitted, kit, by=manager, at=looked + timedelta(hours=1))

    assert {one.words for one in map_of_cart(fitted, Cut(NOW, NOW))} == {"never looked at"}


def test_a_cart_without_its_lift_has_no_map(boss, fitted, manager):
    remove_lift(fitting_on(fitted, Cut(NOW, NOW)), "Sold", by=manager, at=MORNING)

    response = page(boss, "joint-map", fitted)

    assert "No lift is on this cart" in response.content.decode()
    assert listed(response) == []


def test_a_kits_map_is_blank_and_says_what_is_tightened_to_what(boss, kit):
    lines = listed(page(boss, "kit-joint-map", kit))

    assert lines[3] == "4 left U-bolts · 4 × M10 8.8 · 25.8 lbf·ft"
    assert len(lines) == 8
    assert "never looked at" not in page(boss, "kit-joint-map", kit).content.decode()


def test_the_pages_of_a_kit_and_a_cart_lead_to_their_maps(boss, fitted, kit):
    for name, thing in (("joint-map", fitted), ("kit-joint-map", kit)):
        url = reverse(name, args=[thing.site.slug, thing.pk])
        assert f'href="{url}"' in boss.get(thing.get_absolute_url()).content.decode()


def test_a_rounds_page_leads_to_the_map_and_to_a_joint_that_the_list_lacks(
    client, site, fitted, kit, manager
):
    row = visit(fitted, parts_of(kit, ["joints"]), by=manager, at=MORNING).round
    ways = [
        reverse(name, args=[site.slug, fitted.pk]) for name in ("joint-map", "joint-seen-create")
    ]
    offered = {}

    for role in (Role.MECHANIC, Role.SURVEYOR):
        client.force_login(with_role(site, manager, role))
        html = page(client, "round-detail", fitted, row.pk).content.decode()
        offered[role] = [f'href="{way}"' in html for way in ways]

    assert offered == {Role.MECHANIC: [True, True], Role.SURVEYOR: [True, False]}


@pytest.mark.parametrize("count", [1, 3])
def test_maps_and_lists_cost_the_same_however_many(
    boss, site, manager, cart, count, django_assert_num_queries
):
    rows = [f"joint {n} | other-joints | 10 N.m" for n in range(count)]
    joints = read_joints("\n".join(["joint | family | target", *rows]), "N.m")
    kit = a_kit(site, manager, code="short", joints=joints)
    fit(cart, kit, by=manager, at=MORNING)
    for number in range(count):
        took_up(cart, manager, f"beside {number}")
        saw(cart, manager, f"waits {number}")
    visit(cart, parts_of(kit, ["joints"]), by=manager, at=NOW - timedelta(hours=1))
    cart.refresh_from_db()

    with django_assert_num_queries(11):
        assert len(map_of_cart(cart, Cut(NOW, NOW))) == 2 * count
    for name, args, queries in (("joint-map", [cart.pk], 14), ("joint-seen-list", [], 5)):
        with django_assert_num_queries(queries):
            boss.get(reverse(name, args=[site.slug, *args]))


def test_a_mechanic_records_a_joint_that_the_list_lacks(client, site, fitted, manager):
    mechanic = with_role(site, manager, Role.MECHANIC)
    client.force_login(mechanic)

    response = send(client, "joint-seen-create", fitted, done_on="2026-03-03", **WHO_SEES)

    assert response.status_code == 302
    row = JointSeen.objects.get()
    assert (row.name, row.wheel, row.count, row.by, row.day_only) == (
        "tow eye",
        "left rear",
        2,
        mechanic,
        True,
    )
    said = client.get(fitted.get_absolute_url()).content.decode()
    assert "waits for a manager" in said
    assert reverse("joint-take-up", args=[site.slug, fitted.pk, row.pk]) not in said


def test_the_board_counts_what_waits_and_the_list_leads_on(boss, site, fitted, seen):
    board = boss.get(reverse("board", args=[site.slug])).content.decode()
    waits = boss.get(reverse("joint-seen-list", args=[site.slug])).content.decode()

    assert "Joints that a list lacks" in board
    for name in ("joint-take-up", "joint-decline"):
        assert reverse(name, args=[site.slug, fitted.pk, seen.pk]) in waits


def test_the_board_says_nothing_where_nothing_waits(boss, site, fitted):
    assert (
        "Joints that a list lacks"
        not in boss.get(reverse("board", args=[site.slug])).content.decode()
    )


def test_the_manager_puts_it_on_the_list_as_a_kits_line_would(boss, fitted, seen):
    response = send(
        boss,
        "joint-take-up",
        fitted,
        seen.pk,
        **WHO_SEES,
        thread="M10",
        grade="8.8",
        target="30 N.m",
        low="28 N.m",
        stages="50, 100 %",
        locking="nylon insert",
        marks=["critical", "weight on"],
        removals="3",
        reason="It holds the tow bar",
    )

    assert response.status_code == 302
    joint = Joint.objects.get(cart=fitted)
    assert (joint.target_typed, joint.low_nm, joint.stages, joint.removals_allowed) == (
        "30 N.m",
        28,
        "50, 100 %",
        3,
    )
    assert (joint.is_critical, joint.weight_on, joint.no_adapter) == (True, True, False)
    assert Change.objects.get(what=JOINT).reason == "It holds the tow bar"
    assert "On the list beside" in boss.get(fitted.get_absolute_url()).content.decode()
    assert list(differences(fitted.site)) == []


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"target": "heavy"}, "target"),
        ({"low": "40 N.m", "target": "30 N.m"}, "target"),
        ({"family": "lugs", "wheel": ""}, "wheel"),
        ({"pitch": "2", "thread": "M10x1.5"}, "pitch"),
        ({"factor": "3"}, "factor"),
        ({"grip": "-1"}, "grip"),
        ({"name": ""}, "name"),
    ],
)
def test_what_cannot_be_read_is_said_at_its_field(boss, fitted, seen, typed, field):
    response = send(boss, "joint-take-up", fitted, seen.pk, **(WHO_SEES | typed))

    assert list(response.context["form"].errors) == [field]
    assert not Joint.objects.filter(cart=fitted).exists()


def test_above_proof_the_page_asks_for_a_signature(boss, fitted, seen, manager):
    typed = WHO_SEES | {"thread": "M10", "target": "25 lbf.ft"}

    asked = send(boss, "joint-take-up", fitted, seen.pk, **typed)
    said = asked.content.decode()
    assert "about 130 % (" in said
    assert f"Why it may stand, signed as {manager.name}" in said
    again = send(boss, "joint-take-up", fitted, seen.pk, **typed, above_proof="")
    assert "above_proof" in again.context["form"].errors
    assert not Joint.objects.filter(cart=fitted).exists()

    send(boss, "joint-take-up", fitted, seen.pk, **typed, above_proof="Marked 8.8")
    assert Change.objects.get(what=JOINT).value["above_proof"] == "Marked 8.8"


def test_a_name_that_is_listed_comes_back_and_names_it(boss, fitted, seen):
    response = send(boss, "joint-take-up", fitted, seen.pk, **WHO_SEES | {"name": "Front frame"})

    assert "The cart’s list has it already: front frame" in response.content.decode()


@pytest.mark.parametrize("name", ["joint-decline", "joint-end"])
def test_declining_and_ending_need_a_reason(boss, fitted, manager, name):
    thing = saw(fitted, manager) if name == "joint-decline" else took_up(fitted, manager)
    what = DECLINED if name == "joint-decline" else ENDED

    refused = send(boss, name, fitted, thing.pk, reason=" ")
    assert list(refused.context["form"].errors) == ["reason"]
    assert not Change.objects.filter(what=what).exists()

    send(boss, name, fitted, thing.pk, reason="Sold")
    assert Change.objects.get(what=what).reason == "Sold"
    again = send(boss, name, fitted, thing.pk, reason="Sold")
    assert "before" in str(again.context["form"].non_field_errors())


def test_a_cart_that_moved_waits_at_its_new_site_alone(boss, site, fitted, seen, manager):
    there, other = a_site("osprey")
    move_cart(fitted, there, by=manager, at=NOW)

    here = boss.get(reverse("joint-seen-list", args=[site.slug])).content.decode()
    boss.force_login(other)
    gone_to = boss.get(reverse("joint-seen-list", args=[there.slug])).content.decode()

    assert ("tow eye" in here, "tow eye" in gone_to) == (False, True)


def test_the_timeline_says_what_was_decided(site, fitted, seen, manager):
    value = joint_value("tow eye", wheel="left rear", thread="M10", grade="8.8", target="30 N.m")
    joint = take_up_joint(seen, value, reason="Bar", by=manager, at=MORNING)
    end_joint(joint, reason="Sold", by=manager, at=NOW)
    decline_joint(saw(fitted, manager, "cup"), reason="No joint", by=manager, at=NOW)

    told = {}
    for entry in Entry.objects.filter(cart_id=fitted.pk).order_by("seq"):
        said = json.loads(bytes(entry.body))
        model = JointSeen if entry.kind == JointSeen.kind() else Change
        if said.get("what") in (JOINT, ENDED, DECLINED) or model is JointSeen:
            told.setdefault(title_of(model, said), []).append(
                detail_of(entry.kind, said, Where(site))
            )

    assert told == {
        "Joint seen": ["tow eye; Bent", "cup; Bent"],
        "A joint was put on the cart’s list": ["tow eye; left rear; M10; 8.8; 30 N.m; Bar"],
        "A joint was taken off the cart’s list": ["name: tow eye; Sold"],
        "A joint was left off the cart’s list": ["name: cup; No joint"],
    }
