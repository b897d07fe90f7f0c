"""Which looks a wrench found out has spoilt: the list is exact."""

from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from fleet.actions.corrections import correct_round, move_round, strike_round
from fleet.actions.rounds import TakenDown
from fleet.kinds import Cut
from fleet.models import Round
from lifts.actions import fit
from lifts.actions.wrenches import (
    add_certificate,
    certificate_points,
    strike_of_wrench,
)
from lifts.found_out import finding_called, findings_of, found_out_rows, looks_found_out
from lifts.models import JointPart
from shared.facts import record_all
from shared.models import new_id
from tests.factories import MORNING
from tests.found_out_factories import a_joint_round, a_look, certified, checked, dropped
from tests.lift_factories import a_cart, a_site
from tests.round_factories import Told
from tests.wrench_factories import DAY, a_good_wrench, a_wrench

pytestmark = pytest.mark.django_db
SECOND = timedelta(seconds=1)


def on(day, month, hour=9, minute=0):
    return datetime(2026, month, day, hour, minute, tzinfo=ZoneInfo("America/New_York"))


CHECKED, FOUND = on(2, 5), on(6, 6, 14)
LATER = on(1, 7)


@pytest.fixture
def wrench(site, manager):
    return a_good_wrench(site, manager)


@pytest.fixture
def fitted(cart, kit, manager):
    fit(cart, kit, by=manager, at=MORNING)
    return cart


@pytest.fixture
def frame(kit):
    """A joint of 45 N.m without a band of its own, critical or not as the kit says."""
    return kit.joints.get(name="front frame")


def joint(kit, name, **changed):
    row = kit.joints.get(name=name)
    kit.joints.filter(pk=row.pk).update(**changed)
    row.refresh_from_db()
    return row


def cut(at=LATER):
    return Cut(at, at)


def listed(finding, at=LATER):
    found = looks_found_out(finding, cut(at))
    return [(one.look.name, one.look.fact.done_at) for one in found if one.is_listed]


def the_finding(wrench, at=LATER):
    [finding] = findings_of(wrench, cut(at))
    return finding


def found_14_percent_low(wrench, by):
    """The worked case: good on 2 May, 14 % low as found on 6 June."""
    checked(wrench, by, CHECKED)
    return certified(wrench, by, FOUND, found="-0.14", left="0")


def test_14_percent_low_lists_only_that_wrenchs_looks_between(
    site, manager, wrench, kit, fitted, frame
):
    other = a_good_wrench(site, manager, name="TW-2")
    wide = joint(kit, "left U-bolts", low_nm=Decimal("29.75"))  # 35 N.m - 15 %
    lugs = joint(kit, "left front lugs")
    a_joint_round(fitted, manager, on(1, 5), a_look(frame, wrench))
    a_joint_round(
        fitted,
        manager,
        on(20, 5),
        a_look(frame, wrench),
        a_look(wide, wrench),
        a_look(lugs, other),
    )
    found_14_percent_low(wrench, manager)
    a_joint_round(fitted, manager, on(7, 6), a_look(frame, wrench))

    finding = the_finding(wrench)
    assert (finding.after, finding.until) == (CHECKED, FOUND)
    assert listed(finding) == [("front frame", on(20, 5))]
    spared, spoilt = sorted(
        looks_found_out(finding, cut()), key=lambda one: one.look.name, reverse=True
    )
    assert (spared.look.name, spared.verdict, spared.got.is_band_own) == (
        "left U-bolts",
        "inside",
        True,
    )
    assert spoilt.got.nm == pytest.approx(45 * 0.86)


@pytest.mark.parametrize(
    ("at", "is_in"),
    [
        (CHECKED - SECOND, False),
        (CHECKED, False),
        (CHECKED + SECOND, True),
        (FOUND - SECOND, True),
        (FOUND, True),
        (FOUND + SECOND, False),
    ],
)
def test_the_window_begins_after_the_good_check_and_ends_with_the_finding(
    manager, wrench, fitted, frame, at, is_in
):
    found_14_percent_low(wrench, manager)
    a_joint_round(fitted, manager, at, a_look(frame, wrench), told_at=LATER)

    assert bool(listed(the_finding(wrench))) is is_in


@pytest.mark.parametrize(("error", "is_in"), [("-0.12", True), ("-0.07", False), ("-0.10", False)])
def test_12_percent_low_breaks_40_newton_metres_and_7_does_not(
    manager, wrench, kit, fitted, error, is_in
):
    joint(kit, "left tie-rod end", target_nm=40, locking="")
    tie_rod = kit.joints.get(name="left tie-rod end")
    a_joint_round(fitted, manager, on(20, 5), a_look(tie_rod, wrench))
    checked(wrench, manager, CHECKED)
    certified(wrench, manager, FOUND, found=error)

    assert bool(listed(the_finding(wrench))) is is_in


def test_a_failed_check_holds_its_one_error_for_all_torques(manager, wrench, kit, fitted, frame):
    lugs = joint(kit, "left front lugs")
    a_joint_round(fitted, manager, on(20, 5), a_look(frame, wrench), a_look(lugs, wrench))
    checked(wrench, manager, on(25, 5), read="44")  # 50 set: 12 % low

    assert listed(the_finding(wrench)) == [
        ("front frame", on(20, 5)),
        ("left front lugs", on(20, 5)),
    ]


def test_a_drop_lists_all_as_not_known_until_a_certificate_measures_it(
    manager, wrench, kit, fitted, frame
):
    wide = joint(kit, "left U-bolts", low_nm=20)
    a_joint_round(fitted, manager, on(20, 5), a_look(frame, wrench), a_look(wide, wrench))
    drop = dropped(wrench, manager, on(25, 5))
    finding = the_finding(wrench)
    assert [one.verdict for one in looks_found_out(finding, cut())] == ["not known"] * 2
    assert len(listed(finding)) == 2

    certificate = certified(wrench, manager, FOUND, found="-0.14", left="0")
    finding = finding_called(wrench, drop.pk, cut())
    assert finding.measured_by.pk == certificate.pk
    assert listed(finding) == [("front frame", on(20, 5))]
    assert len(listed(finding, on(5, 6))) == 1  # points are the finding's own
    before = finding_called(wrench, drop.pk, cut(on(5, 6)))
    assert len(listed(before, on(5, 6))) == 2


def test_after_a_drop_a_good_check_does_not_shorten_the_window(manager, wrench, fitted, frame):
    a_joint_round(fitted, manager, on(20, 4), a_look(frame, wrench))
    dropped(wrench, manager, on(25, 4))
    found_14_percent_low(wrench, manager)

    _drop, finding = findings_of(wrench, cut())
    assert finding.after == MORNING
    assert listed(finding) == [("front frame", on(20, 4))]


def test_a_drop_told_later_reaches_on_to_its_telling_or_a_calibration(
    manager, wrench, fitted, frame
):
    for day in (24, 26, 29):
        a_joint_round(fitted, manager, on(day, 5), a_look(frame, wrench))
    dropped(wrench, manager, on(25, 5), told_at=on(30, 5))
    assert [at for _name, at in listed(the_finding(wrench))] == [on(24, 5), on(26, 5), on(29, 5)]

    certified(wrench, manager, on(28, 5), found="-0.14", left="0")
    drop, _certificate = findings_of(wrench, cut())
    assert [at for _name, at in listed(drop)] == [on(24, 5), on(26, 5)]


def test_a_calibration_that_left_it_off_ends_no_doubt_of_a_drop(manager, wrench, fitted, frame):
    for day in (26, 29):
        a_joint_round(fitted, manager, on(day, 5), a_look(frame, wrench))
    certified(wrench, manager, on(28, 5), found="-0.14", left="-0.14")
    dropped(wrench, manager, on(25, 5), told_at=on(30, 5))

    drop, _certificate = findings_of(wrench, cut())
    assert [at for _name, at in listed(drop)] == [on(26, 5), on(29, 5)]


def test_a_certificate_inside_and_one_left_out_alone_find_nothing(manager, wrench):
    certified(wrench, manager, on(1, 5), found="0.03", left="0.06")

    assert findings_of(wrench, cut()) == []


def test_a_wrench_never_known_to_be_good_is_in_doubt_from_its_first_look(
    site, manager, kit, fitted, frame
):
    wrench = a_wrench(site, manager)
    a_joint_round(fitted, manager, on(1, 4), a_look(frame, wrench))
    certified(wrench, manager, FOUND, found="0.2")

    finding = the_finding(wrench)
    assert finding.after is None
    assert listed(finding) == [("front frame", on(1, 4))]
    assert looks_found_out(finding, cut())[0].got.is_over


@pytest.mark.parametrize(
    ("about", "is_in"),
    [
        ({"found": "not reached"}, False),
        ({"found": "gone"}, False),
        ({"found": "gone", "action": "new bolt"}, True),
        ({"pin": "undisturbed"}, False),
        ({"pin": "undisturbed", "action": "tightened", "found": "slack"}, True),
        ({"target_nm": None}, False),
    ],
)
def test_only_nuts_that_were_pulled_to_a_torque_are_listed(
    manager, wrench, fitted, frame, about, is_in
):
    a_joint_round(fitted, manager, on(20, 5), a_look(frame, wrench, **about))
    found_14_percent_low(wrench, manager)

    assert bool(listed(the_finding(wrench))) is is_in


def test_the_error_is_taken_at_the_torque_set_through_an_adapter(site, manager, kit, fitted, frame):
    about = {"name": "TW-3", "length_mm": "300", "adapter_mm": "100"}
    wrench = a_good_wrench(site, manager, **about)
    straight, crow = a_look(frame, wrench), a_look(kit.joints.get(name="left U-bolts"), wrench)
    crow.adapter_deg = 0
    a_joint_round(fitted, manager, on(20, 5), straight, crow)
    points = [("20", "-0.12"), ("30", "-0.05"), ("100", "0.01")]
    lines = [(f"{nm} N.m", Decimal(nm), Decimal(error), Decimal(0)) for nm, error in points]
    add_certificate(
        wrench,
        {"number": "C-9", "laboratory": "", "tolerance": Decimal("0.04")},
        certificate_points(lines),
        by=manager,
        at=FOUND,
        done_at=FOUND,
    )

    found = {one.look.name: one.got for one in looks_found_out(the_finding(wrench), cut())}
    # 35 N.m at the nut is 26.25 set: -0.12 + 0.07 * 6.25 / 10
    assert found["left U-bolts"].error == pytest.approx(-0.07625)
    assert found["front frame"].error == pytest.approx(-0.05 + 0.06 * 15 / 70)


def test_what_took_a_bolt_past_proof_says_so(manager, wrench, kit, fitted):
    weak = joint(kit, "left U-bolts", grade="4.6", target_nm=18, high_nm=40)
    weak.target_nm = Decimal(18)
    a_joint_round(fitted, manager, on(20, 5), a_look(weak, wrench))
    certified(wrench, manager, FOUND, found="0.2")
    [found] = looks_found_out(the_finding(wrench), cut())

    # M10 of 4.6: proof 225 N/mm2 x 58.0 mm2 is 13.05 kN; 21.6 N.m / (0.2 x 10 mm) is 10.8 kN
    assert found.past_proof is None
    assert not found.is_listed  # its sheet allows 40 N.m

    kit.joints.filter(pk=weak.pk).update(target_nm=25)
    a_joint_round(fitted, manager, on(21, 5), a_look(weak, wrench, target_nm=25), told_at=LATER)
    found = looks_found_out(the_finding(wrench), cut())[-1]
    assert found.past_proof.share == pytest.approx(15 / 13.05, rel=0.005)


def test_a_struck_round_and_a_moved_one_are_listed_where_they_stand(
    site, manager, wrench, kit, fitted, frame
):
    other = a_cart(site, manager, number="8")
    fit(other, kit, by=manager, at=MORNING)
    struck = a_joint_round(fitted, manager, on(20, 5), a_look(frame, wrench))
    moved = a_joint_round(fitted, manager, on(21, 5), a_look(frame, wrench))
    found_14_percent_low(wrench, manager)
    late = {"by": manager, "at": on(10, 6)}
    strike_round(Round.objects.get(pk=struck.round_id), reason="another day", **late)
    move_round(Round.objects.get(pk=moved.round_id), other, reason="another cart", **late)

    finding = the_finding(wrench)
    [found] = looks_found_out(finding, cut())
    assert (found.look.fact.cart, found.look.fact.done_at) == (other, on(21, 5))
    assert len(looks_found_out(finding, cut(on(9, 6)))) == 2


def test_a_corrected_look_counts_as_it_is_told_now(site, manager, wrench, fitted, frame):
    other = a_good_wrench(site, manager, name="TW-2")
    first = a_joint_round(fitted, manager, on(20, 5), a_look(frame, wrench))
    found_14_percent_low(wrench, manager)
    again = Told(
        "joints", JointPart(stage="recurring", offered=["other-joints"]), [a_look(frame, other)]
    )
    row = Round.objects.get(pk=first.round_id)
    told = TakenDown(
        id=new_id(),
        opened_at=row.opened_at,
        done_at=row.done_at,
        parts=[(again, None)],
        corrects=row.pk,
        why_corrected="it was TW-2",
    )
    correct_round(row, told, by=manager, at=on(10, 6))

    assert listed(the_finding(wrench)) == []
    assert len(listed(the_finding(wrench), on(9, 6))) == 1


def test_a_struck_finding_is_none_and_what_arrives_later_was_not_known(
    manager, wrench, fitted, frame
):
    certificate = found_14_percent_low(wrench, manager)
    a_joint_round(fitted, manager, on(20, 5), a_look(frame, wrench), told_at=on(10, 6))
    assert findings_of(wrench, cut(FOUND - SECOND)) == []
    assert looks_found_out(the_finding(wrench), cut(on(9, 6))) == []

    strike_of_wrench(certificate, reason="another one's", by=manager, at=on(20, 6))
    assert findings_of(wrench, cut()) == []
    assert len(listed(the_finding(wrench, on(19, 6)), on(19, 6))) == 1


def test_rows_of_a_cart_say_all_in_plain_values(manager, wrench, fitted, frame):
    part = a_joint_round(fitted, manager, on(20, 5), a_look(frame, wrench))
    certificate = found_14_percent_low(wrench, manager)
    other, its_manager = a_site("hills")
    certified(a_good_wrench(other, its_manager), its_manager, FOUND, found="-0.14")

    [row] = found_out_rows([fitted.pk], cut())

    expected = {
        "delivered_nm": Decimal("38.7"),
        "error": Decimal("-0.14"),
        "cart": fitted.pk,
        "round": part.round_id,
        "joints": part.pk,
        "joint": "front frame",
        "wrench": "TW-1",
        "finding": certificate.pk,
        "last_good_at": CHECKED,
        "target_nm": 45,
        "low_nm": Decimal("40.5"),
        "high_nm": Decimal("49.5"),
        "verdict": "outside",
        "past_proof": False,
    }
    assert {name: row[name] for name in expected} == expected
    assert list(found_out_rows([fitted.pk], cut(on(5, 6)))) == []


@pytest.mark.parametrize("count", [1, 3])
def test_the_queries_do_not_grow_with_carts_or_looks(
    site, manager, wrench, kit, frame, count, django_assert_num_queries
):
    carts = [a_cart(site, manager, number=f"{number}") for number in range(count)]
    facts = []
    for cart in carts:
        about = {"site": site, "cart": cart, "by": manager}
        visit = Round(opened_at=on(20, 5), done_at=on(20, 5), **about)
        part = JointPart(round=visit, stage="recurring", done_at=on(20, 5), **about)
        facts += [(visit, []), (part, [a_look(frame, wrench)])]
    record_all(facts, at=on(20, 5) + DAY)
    found_14_percent_low(wrench, manager)

    with django_assert_num_queries(8):
        rows = list(found_out_rows([cart.pk for cart in carts], cut()))

    assert len(rows) == count
