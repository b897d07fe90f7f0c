"""Torque wrenches and their use, against manuals that print a worked example."""

from datetime import date
from itertools import pairwise

import pytest

from lifts.torque import (
    is_in_working_range,
    iso6789_tolerance,
    set_for_adapter_nm,
    tolerance_band_nm,
    wheel_nut_order,
)
from lifts.wrench_error import (
    DEFAULT_INTERVAL_DAYS,
    MOST_PULLS,
    ErrorPoint,
    breaks_tolerance,
    due_on,
    is_due,
)


@pytest.mark.parametrize(
    ("source", "target", "wrench", "adapter", "angle", "setting"),
    [
        ("TM 1-1500-204-23-9 fig. 8-16", 300, 10, 4, 0, 214.29),
        ("a rotorcraft maintenance manual, chapter 20", 135, 10, 1.5, 0, 117.39),
        ("the same, shortening", 135, 10, 1.5, 180, 158.82),
        ("an airframe manual, 2-90", 30, 1, 0.25, 0, 24),
        ("Navy 14315 fig. 3-44 and 3-45, worked by hand", 100, 12, 6, 0, 66.67),
        ("TM 9-254 fig. 46, worked by hand", 100, 12, 4, 0, 75),
        ("TM 9-254 fig. 46, worked by hand", 100, 12, 4, 45, 80.926),
        ("TM 9-254 fig. 46, worked by hand", 100, 12, 4, 90, 100),
        ("TM 9-254 fig. 46, worked by hand", 100, 12, 4, 180, 150),
    ],
)
def test_an_adapter_changes_the_setting_as_printed(source, target, wrench, adapter, angle, setting):
    # torque and lengths in whatever units: only the ratio of lengths counts
    found = set_for_adapter_nm(target, wrench_mm=wrench, adapter_mm=adapter, angle_deg=angle)

    assert found == pytest.approx(setting, abs=0.005), source


@pytest.mark.parametrize(
    ("full_scale", "reading", "off"), [(200, 80, 3.2), (200, 40, 1.6), (10, 8, 0.48)]
)
def test_a_wrench_may_be_off_as_iso_6789_says(full_scale, reading, off):
    # type II class A, as a torque wrench's manual quotes it
    assert reading * iso6789_tolerance(full_scale) == pytest.approx(off)


@pytest.mark.parametrize(
    ("torque", "full_scale", "is_inside"),
    [(20, 150, False), (30, 150, True), (135, 150, True), (140, 150, False)],
)
def test_a_wrench_works_in_the_range_of_nasa_std_5020b(torque, full_scale, is_inside):
    # 4.8.4: between 20 and 90 % of full scale
    assert is_in_working_range(torque, full_scale) is is_inside


def test_a_wrench_is_calibrated_as_often_as_iso_6789_says():
    # ISO 6789:2003, as two pages quote it: 5,000 cycles or 12 months
    assert (DEFAULT_INTERVAL_DAYS, MOST_PULLS) == (365, 5_000)
    last_day = due_on(date(2026, 3, 1))
    assert last_day == date(2027, 3, 1)
    assert [is_due(last_day, last_day, pulls) for pulls in (4_999, 5_000)] == [False, True]


@pytest.mark.parametrize(("full_scale", "breaks"), [(100, False), (10, True)])
def test_60_plus_or_minus_3_is_held_by_a_wrench_within_4_percent_but_not_within_6(
    full_scale, breaks
):
    # the band "60 +- 3 in-lb" is NASA-STD-5020B 4.8.1's
    error = iso6789_tolerance(full_scale)

    assert tolerance_band_nm(60, 57, 63) == (57, 63)
    assert breaks_tolerance([ErrorPoint(60, error)], 60, 57, 63) is breaks
    assert breaks_tolerance([ErrorPoint(60, -error)], 60, 57, 63) is breaks


def test_a_castle_nut_begins_at_its_least_torque_and_never_passes_its_most():
    # AC 43.13-1B 7-40 f; 480 to 690 in-lb for 1/2-20 is from memory of its table
    assert tolerance_band_nm(480, 480, 690) == (480, 690)
    assert not breaks_tolerance([ErrorPoint(480, 0.04)], 480, 480, 690)
    assert breaks_tolerance([ErrorPoint(480, -0.04)], 480, 480, 690)
    assert breaks_tolerance([ErrorPoint(690, 0.04)], 690, 480, 690)


@pytest.mark.parametrize("count", [4, 6, 8])
def test_an_even_wheel_begins_with_opposite_nuts(count):
    # MIL-HDBK-60 5.7 fig. 4: opposite pairs, then pairs a quarter turn away
    first, second, *_ = order = wheel_nut_order(count)

    assert abs(second - first) == count / 2
    pairs = zip(order[::2], order[1::2], strict=True)
    assert [abs(one - other) for one, other in pairs] == [count / 2] * (count // 2)


@pytest.mark.parametrize("count", [4, 8])
def test_the_next_opposite_nuts_are_a_quarter_turn_away(count):
    first, _, third, *_ = wheel_nut_order(count)

    assert third - first == count / 4


def test_each_of_five_nuts_is_two_places_on_from_the_last():
    order = wheel_nut_order(5)

    assert [(later - nut) % 5 for nut, later in pairwise(order)] == [2, 2, 2, 2]


@pytest.mark.parametrize(
    ("count", "order"),
    [(4, "1-3-2-4"), (5, "1-3-5-2-4"), (6, "1-4-2-5-3-6"), (8, "1-5-3-7-2-6-4-8")],
)
def test_wheel_nuts_go_in_the_usual_order(count, order):
    # common practice, no source
    assert "-".join(map(str, wheel_nut_order(count))) == order
