"""What a torque wrench is set to, against worked figures and inverses."""

from decimal import Decimal

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from lifts.torque import (
    above_zero,
    is_in_working_range,
    iso6789_tolerance,
    reached_through_adapter_nm,
    read_stages,
    set_for_adapter_nm,
    stage_torques_nm,
    tolerance_band_nm,
    wheel_nut_order,
)

TORQUES = st.floats(0.5, 500)
LENGTHS = st.floats(20, 1000)


@pytest.mark.parametrize(("angle", "setting"), [(0, 34.1), (45, 35.7), (90, 40.0), (180, 48.3)])
def test_the_setting_through_an_adapter_follows_its_angle(angle, setting):
    # 40 * 350 / (350 + 60 cos a)
    found = set_for_adapter_nm(Decimal(40), wrench_mm=350, adapter_mm=60, angle_deg=angle)

    assert round(found, 1) == setting


def test_a_nut_gets_more_than_was_set_when_an_adapter_is_left_out_of_account():
    assert round(reached_through_adapter_nm(40, wrench_mm=350, adapter_mm=60), 1) == 46.9


@given(TORQUES, LENGTHS, LENGTHS, st.floats(-180, 180))
def test_what_is_set_for_an_adapter_reaches_the_target(target, wrench, adapter, angle):
    assume(adapter < 0.9 * wrench)
    through = {"wrench_mm": wrench, "adapter_mm": adapter, "angle_deg": angle}

    setting = set_for_adapter_nm(target, **through)

    assert reached_through_adapter_nm(setting, **through) == pytest.approx(target)


@given(TORQUES, LENGTHS, LENGTHS, st.floats(0, 179))
def test_an_adapter_turned_further_back_needs_more(target, wrench, adapter, angle):
    assume(adapter < 0.9 * wrench)

    less = set_for_adapter_nm(target, wrench_mm=wrench, adapter_mm=adapter, angle_deg=angle)
    more = set_for_adapter_nm(target, wrench_mm=wrench, adapter_mm=adapter, angle_deg=angle + 1)

    assert less < more


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"wrench_mm": 0}, "wrench_mm must be above zero, not 0"),
        ({"adapter_mm": -60}, "adapter_mm must be above zero, not -60"),
        ({"adapter_mm": 350, "angle_deg": 180}, "effective_mm must be above zero, not 0.0"),
        ({"adapter_mm": 400, "angle_deg": 180}, "effective_mm must be above zero, not -50.0"),
    ],
)
def test_an_adapter_that_cannot_be_is_refused(wrong, message):
    through = {"wrench_mm": 350, "adapter_mm": 60, **wrong}

    with pytest.raises(ValueError, match=message):
        set_for_adapter_nm(40, **through)
    with pytest.raises(ValueError, match=message):
        reached_through_adapter_nm(40, **through)


@pytest.mark.parametrize("value", [0, -1, Decimal(0), float("nan"), float("inf")])
def test_no_torque_is_no_torque(value):
    with pytest.raises(ValueError, match=f"target_nm must be above zero, not {value}"):
        set_for_adapter_nm(value, wrench_mm=350, adapter_mm=60)
    with pytest.raises(ValueError, match=f"set_nm must be above zero, not {value}"):
        reached_through_adapter_nm(value, wrench_mm=350, adapter_mm=60)


def test_above_zero_gives_floats_in_order():
    assert above_zero(one=Decimal("1.5"), other=2) == [1.5, 2.0]


@pytest.mark.parametrize(
    ("target", "full_scale", "is_inside"),
    [(19.9, 100, False), (20, 100, True), (63, 70, True), (90, 100, True), (90.1, 100, False)],
)
def test_a_wrench_works_between_a_fifth_and_nine_tenths_of_its_scale(target, full_scale, is_inside):
    assert is_in_working_range(target, full_scale) is is_inside
    assert is_in_working_range(Decimal(str(target)), Decimal(full_scale)) is is_inside


def test_a_tolerance_goes_by_the_greatest_torque_of_a_wrench():
    tolerances = [iso6789_tolerance(full_scale) for full_scale in (5, 10, 10.1, 200)]

    assert tolerances == [0.06, 0.06, 0.04, 0.04]


@pytest.mark.parametrize("count", [4, 5, 6, 8])
def test_each_wheel_nut_is_tightened_once(count):
    assert sorted(wheel_nut_order(count)) == [*range(1, count + 1)]


@pytest.mark.parametrize("count", [-4, 0, 1, 3, 7, 9])
def test_other_counts_of_wheel_nuts_have_no_order(count):
    with pytest.raises(ValueError, match=f"4, 5, 6 and 8 wheel nuts, not {count}$"):
        wheel_nut_order(count)


@pytest.mark.parametrize(
    ("text", "shares"),
    [
        ("50, 80, 100 %", (0.5, 0.8, 1.0)),
        ("50 -> 80 -> 100 %", (0.5, 0.8, 1.0)),
        ("50 % → 80 % → 100 %", (0.5, 0.8, 1.0)),
        ("50%,80%,100%", (0.5, 0.8, 1.0)),
        ("50/80/100", (0.5, 0.8, 1.0)),
        ("33.3; 66.7; 100", (0.333, 0.667, 1.0)),
        ("100 %", (1.0,)),
        ("", (1.0,)),
        ("  ", (1.0,)),
        ("1 step", (1.0,)),
        ("3 steps", (1 / 3, 2 / 3, 1.0)),
        ("in 4 Stages", (0.25, 0.5, 0.75, 1.0)),
    ],
)
def test_stages_are_read_as_shares_of_the_target(text, shares):
    assert read_stages(text) == pytest.approx(shares, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        *("80, 50, 100 %", "50, 50, 100", "50, 80", "50, 80, 110", "0, 100", "0 steps", "steps"),
        *("star", "50,, 100", "50, 80, 100, ", "-50, 100", "0.5, 0.8, 1", "12 steps", "50 80 100"),
    ],
)
def test_what_are_no_stages_is_refused_by_its_text(text):
    with pytest.raises(ValueError, match=f"^“{text}” are no stages; write them like 50, 80"):
        read_stages(text)


@given(TORQUES, st.integers(1, 9))
def test_stages_rise_to_the_target(target, steps):
    torques = stage_torques_nm(target, f"{steps} steps")

    assert len(torques) == steps
    assert list(torques) == sorted(set(torques))
    assert torques[-1] == target


def test_stages_of_54_newton_metres_are_27_43_and_54():
    torques = stage_torques_nm(Decimal("54.0"), "50, 80, 100 %")

    assert torques == pytest.approx((27.0, 43.2, 54.0))


@pytest.mark.parametrize(
    ("bounds", "band"),
    [
        ({}, (36.0, 44.0)),
        ({"low_nm": Decimal(38)}, (38.0, 44.0)),
        ({"high_nm": Decimal(40)}, (36.0, 40.0)),
        ({"low_nm": 40, "high_nm": 60}, (40.0, 60.0)),
    ],
)
def test_a_band_is_ten_percent_where_the_sheet_gives_none(bounds, band):
    assert tolerance_band_nm(Decimal(40), **bounds) == pytest.approx(band)


@pytest.mark.parametrize("bounds", [{"low_nm": 41}, {"high_nm": 39}, {"low_nm": 50, "high_nm": 60}])
def test_a_target_outside_its_own_band_is_refused(bounds):
    with pytest.raises(ValueError, match="target_nm 40 is not between"):
        tolerance_band_nm(40, **bounds)
