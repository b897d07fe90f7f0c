"""The state of a rack's wrenches, from facts that stand within a cut."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from fleet.kinds import Cut
from fleet.models import Round
from lifts.actions.wrenches import add_event, change_wrench, strike_of_wrench
from lifts.models import JointPart, Look, Wrench, WrenchCheck, WrenchEvent
from lifts.racks import last_good_before, standing_of, standings
from lifts.wrench_error import ErrorPoint
from shared.facts import correction_of, record, record_all
from shared.units import read_quantity
from tests.factories import MORNING
from tests.lift_factories import a_site
from tests.wrench_factories import (
    DAY,
    a_certificate,
    a_good_wrench,
    a_quick_check,
    a_wrench,
    wrench_value,
)

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
What = WrenchEvent.What


def now(at):
    return Cut(at, at)


def state(wrench, at):
    standing = standing_of(wrench, now(at))
    return standing.state, standing.why


@pytest.fixture
def wrench(site, manager):
    return a_good_wrench(site, manager)


def test_a_standing_says_all_of_a_good_wrench(site, manager, wrench):
    a_quick_check(wrench, manager, MORNING + 20 * DAY)

    [standing] = standings(site, now(MORNING + 25 * DAY))

    assert (standing.state, standing.why, standing.pulls) == ("good", "", 0)
    assert (standing.due_on, standing.check_due_on) == (date(2027, 3, 2), date(2026, 4, 21))
    assert (standing.most_pulls, standing.interval_days) == (5000, 365)
    assert standing.last_good_at == MORNING + 20 * DAY
    assert standing.points == tuple(ErrorPoint(nm, 0.01) for nm in (20.0, 60.0, 100.0))
    assert standing.wrench == wrench


def test_a_wrench_without_a_certificate_says_so(site, manager):
    wrench = a_wrench(site, manager)

    assert state(wrench, MORNING) == ("due", "no certificate on record")


def test_words_name_days_as_the_site_writes_them(manager, wrench):
    a_quick_check(wrench, manager, MORNING + 360 * DAY)

    assert state(wrench, MORNING + 365 * DAY) == ("good", "")
    due = ("due", "its certificate held until 03/02/2027")
    assert state(wrench, MORNING + 366 * DAY) == due
    late = ("due", "its quick check was due on 04/01/2026")
    assert state(wrench, MORNING + 45 * DAY) == late


@pytest.mark.parametrize("what", [What.DROPPED, What.ABUSED])
def test_a_drop_doubts_at_once_and_striking_it_ends_the_doubt(manager, wrench, what):
    event = add_event(wrench, what, by=manager, at=MORNING + DAY)

    doubted, why = state(wrench, MORNING + DAY)
    assert doubted == "doubted"
    assert why.endswith("on 03/03/2026: doubted until a new certificate")
    assert standing_of(wrench, now(MORNING + DAY)).doubt.id == event.pk

    strike_of_wrench(event, reason="another one", by=manager, at=MORNING + 2 * DAY)
    assert state(wrench, MORNING + 2 * DAY) == ("good", "")
    assert state(wrench, MORNING + DAY)[0] == "doubted"


@pytest.mark.parametrize(
    ("read", "is_good"),
    [("24", True), ("26", True), ("23.9", False), ("26.1", False)],
)
def test_a_quick_check_at_its_tolerance_is_inside_in_any_unit(read, is_good):
    # as the columns keep them: 25 lbf.ft is 33.8954 N.m, NIST SP 811 (2008) App. B.8
    figures = [read_quantity(f"{said} lbf.ft", "torque", "N.m").si for said in ("25", read)]
    set_nm, read_nm = (round(figure, 4) for figure in figures)
    check = WrenchCheck(set_nm=set_nm, read_nm=read_nm, tolerance=Decimal("0.04"))

    assert check.is_good == is_good


def test_a_quick_check_out_of_tolerance_doubts_and_its_correction_ends_that(manager, wrench):
    check = a_quick_check(wrench, manager, MORNING + DAY, read="47.9")  # -4.2 %
    assert state(wrench, MORNING + DAY)[0] == "doubted"

    read = {"read_typed": "48 N.m", "read_nm": 48}  # -4 %
    right = correction_of(check, reason="misread", by=manager, **read)
    record(right, at=MORNING + 2 * DAY)
    assert state(wrench, MORNING + 2 * DAY) == ("good", "")


def test_a_striken_certificate_brings_the_one_before_back(manager, wrench):
    found_out = a_certificate(wrench, manager, MORNING + 10 * DAY, found="-0.14")
    assert standing_of(wrench, now(MORNING + 11 * DAY)).interval_days == 182

    strike_of_wrench(found_out, reason="another wrench's", by=manager, at=MORNING + 12 * DAY)

    standing = standing_of(wrench, now(MORNING + 12 * DAY))
    assert (standing.interval_days, standing.due_on) == (365, date(2027, 3, 2))


def test_a_certificate_found_out_leaves_no_doubt_and_tells_how_far_back_to_look(manager, wrench):
    good = a_quick_check(wrench, manager, MORNING + 61 * DAY)
    found = a_certificate(wrench, manager, MORNING + 96 * DAY, found="-0.14", left="0.005")

    assert state(wrench, MORNING + 96 * DAY) == ("good", "")
    cut = now(MORNING + 97 * DAY)
    assert last_good_before(wrench, found.done_at, cut) == good.done_at
    assert standing_of(wrench, cut).last_good_at == found.done_at
    assert {point.error for point in standing_of(wrench, cut).points} == {0.005}


def test_a_wrench_left_out_of_tolerance_is_doubted(manager, wrench):
    a_certificate(wrench, manager, MORNING + DAY, found="-0.14", left="-0.05")

    said = "left out of tolerance by its certificate of 03/03/2026: doubted until a new one"
    assert state(wrench, MORNING + DAY) == ("doubted", said)


def test_a_withdrawn_wrench_comes_back(manager, wrench):
    add_event(wrench, What.WITHDRAWN, by=manager, at=MORNING + DAY)
    assert state(wrench, MORNING + DAY) == ("withdrawn", "out of use since 03/03/2026")

    add_event(wrench, What.RETURNED, by=manager, at=MORNING + 2 * DAY)
    assert state(wrench, MORNING + 2 * DAY) == ("good", "")


def test_what_arrives_later_is_not_known_before(manager, wrench):
    dropped = MORNING + DAY
    late = {"done_at": dropped, "by": manager, "at": MORNING + 5 * DAY}
    add_event(wrench, What.DROPPED, **late)

    assert standing_of(wrench, Cut(dropped, MORNING + 4 * DAY)).state == "good"
    assert standing_of(wrench, Cut(dropped, MORNING + 5 * DAY)).state == "doubted"


def test_a_drop_told_after_the_certificate_that_followed_it_is_no_doubt_any_more(manager, wrench):
    a_certificate(wrench, manager, MORNING + 2 * DAY)
    late = {"done_at": MORNING + DAY, "by": manager, "at": MORNING + 3 * DAY}
    add_event(wrench, What.DROPPED, **late)

    assert state(wrench, MORNING + 3 * DAY) == ("good", "")


def test_a_rack_is_told_as_it_was_named_then(site, manager, wrench):
    change_wrench(
        wrench, wrench_value(name="TW-9"), reason="new plate", by=manager, at=MORNING + 3 * DAY
    )

    before, after = standings(site, now(MORNING)), standings(site, now(MORNING + 3 * DAY))

    assert [one.wrench.name for one in before] == ["TW-1"]
    assert [(one.wrench.name, one.wrench.pk, one.state) for one in after] == [
        ("TW-9", wrench.pk, "good")
    ]
    assert after[0].wrench.from_at == Wrench.objects.get().from_at == MORNING
    assert standings(site, now(MORNING - DAY)) == []


def looks_at(cart, by, at, *looks):
    """Record looks of (joint, wrench, what was found, action, pin) at a cart."""
    about = {"site": cart.site, "cart": cart, "by": by}
    visit = Round(opened_at=at, **about)
    part = JointPart(round=visit, stage="settling", **about)
    lines = [
        Look(
            joint=joint,
            name=joint.name,
            family=joint.family,
            wrench=wrench,
            found=found,
            action=action,
            pin=pin,
        )
        for joint, wrench, found, action, pin in looks
    ]
    record_all([(visit, []), (part, lines)], at=at)
    return part


def joint_of(kit, name, **changed):
    joint = kit.joints.get(name=name)
    kit.joints.filter(pk=joint.pk).update(**changed)
    return joint


def pulls_of(wrench, at=MORNING + DAY):
    return standing_of(wrench, now(at)).pulls


def test_pulls_are_nuts_times_stages_where_something_was_tightened(
    manager, wrench, kit, cart, site
):
    lugs = joint_of(kit, "left front lugs", stages="50, 80, 100 %")  # 4 nuts
    frame = joint_of(kit, "front frame")  # 2 nuts
    other = a_good_wrench(site, manager, name="TW-2")
    looks_at(
        cart,
        manager,
        MORNING + HOUR,
        (lugs, wrench, "took up", "tightened", ""),
        (frame, wrench, "firm", "", ""),
        (joint_of(kit, "left rear lugs"), other, "firm", "", ""),
    )

    assert pulls_of(wrench) == 4 * 3 + 2
    assert pulls_of(other) == 4


@pytest.mark.parametrize(
    ("found", "action", "pin", "pulls"),
    [
        ("not reached", "", "", 0),
        ("gone", "", "", 0),
        ("gone", "new nut", "", 1),
        ("firm", "", "undisturbed", 0),
        ("took up", "", "undisturbed", 1),
        ("took up", "tightened", "renewed", 1),
    ],
)
def test_a_nut_that_nothing_turned_is_not_pulled(
    manager, wrench, kit, cart, found, action, pin, pulls
):
    hub = joint_of(kit, "right hub nut")
    looks_at(cart, manager, MORNING + HOUR, (hub, wrench, found, action, pin))

    assert pulls_of(wrench) == pulls


def test_stages_in_words_of_an_old_kit_count_once(manager, wrench, kit, cart):
    frame = joint_of(kit, "front frame", stages="snug, then full")
    looks_at(cart, manager, MORNING + HOUR, (frame, wrench, "took up", "tightened", ""))

    assert pulls_of(wrench) == 2


def test_pulls_begin_anew_with_a_certificate_and_go_with_a_strike(manager, wrench, kit, cart):
    frame = joint_of(kit, "front frame")
    looks_at(cart, manager, MORNING + HOUR, (frame, wrench, "firm", "", ""))
    certificate = a_certificate(wrench, manager, MORNING + 2 * HOUR)
    later = looks_at(cart, manager, MORNING + 3 * HOUR, (frame, wrench, "firm", "", ""))
    assert pulls_of(wrench) == 2

    strike_of_wrench(certificate, reason="another one", by=manager, at=MORNING + 4 * HOUR)
    assert pulls_of(wrench) == 4

    strike_of_wrench(later, reason="another cart", by=manager, at=MORNING + 5 * HOUR)
    assert pulls_of(wrench) == 2


def test_5000_pulls_make_a_wrench_due(manager, wrench, kit, cart):
    frame = joint_of(kit, "front frame", count=5000)
    looks_at(cart, manager, MORNING + HOUR, (frame, wrench, "firm", "", ""))

    assert state(wrench, MORNING + DAY) == ("due", "pulled 5000 times since its certificate")


@pytest.mark.parametrize("count", [1, 4])
def test_a_rack_costs_the_same_however_many_wrenches(
    site, manager, kit, cart, count, django_assert_num_queries
):
    frame = joint_of(kit, "front frame")
    rack = [a_good_wrench(site, manager, name=f"TW-{number}") for number in range(count)]
    for wrench in rack:
        a_quick_check(wrench, manager, MORNING + HOUR)
        add_event(wrench, What.DROPPED, by=manager, at=MORNING + HOUR)
        looks_at(cart, manager, MORNING + HOUR, (frame, wrench, "firm", "", ""))
    other, its_manager = a_site("hills")
    a_good_wrench(other, its_manager)

    with django_assert_num_queries(6):
        found = standings(site, now(MORNING + DAY))

    assert [(one.state, one.pulls) for one in found] == [("doubted", 2)] * count
