"""Life from meter readings."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.usage import (
    LifePoint,
    MeterStart,
    Shown,
    TyreChange,
    first_reaching,
    life_at,
    life_points,
    shown_at_life,
)

D = Decimal
DAY_0 = datetime(2026, 3, 2, 12, tzinfo=UTC)
MILE_M = D("1609.344")
INCH_MM = D("25.4")


def day(days: float) -> datetime:
    return DAY_0 + timedelta(days=days)


def seen(days: float, value: str, **more) -> Shown:
    return Shown(day(days), D(value), **more)


def fitted(days: float, value: str, **more) -> MeterStart:
    return MeterStart(day(days), D(value), **more)


def points(*pairs: tuple[float, str]) -> tuple[LifePoint, ...]:
    return life_points([], [seen(days, value) for days, value in pairs])


def lives(found: tuple[LifePoint, ...]) -> list[Decimal]:
    return [point.life for point in found]


def test_life_starts_at_what_the_first_meter_shows_and_grows_by_each_difference():
    found = life_points([fitted(0, "412.0")], [seen(14, "430.5"), seen(28, "446.0")])

    assert found == (
        LifePoint(day(0), D("412.0"), D("412.0"), False),
        LifePoint(day(14), D("430.5"), D("430.5"), False),
        LifePoint(day(28), D("446.0"), D("446.0"), False),
    )


def test_the_first_reading_starts_a_meter_nobody_recorded():
    assert lives(points((0, "412.0"), (7, "420.0"))) == [D("412.0"), D("420.0")]


def test_no_readings_have_no_life():
    assert life_points([], []) == ()


def test_miles_are_kept_in_true_metres():
    found = life_points([fitted(0, "1850.0")], [seen(3, "1875.0")], unit=MILE_M)

    assert lives(found) == [D("2977286.4"), D("2977286.4") + D("40233.6")]


def test_a_replaced_meter_goes_on_from_the_old_ones_final_figure():
    starts = [fitted(0, "1000.0"), fitted(10, "0.0", old_final=D("1204.6"))]

    found = life_points(starts, [seen(9, "1200.0"), seen(20, "30.0")])

    assert lives(found) == [D("1000.0"), D("1200.0"), D("1204.6"), D("1234.6")]
    assert found[2].shown == D("0.0")


def test_a_replaced_meter_may_start_above_zero():
    starts = [fitted(0, "100.0"), fitted(10, "50.0", old_final=D("120.0"))]

    assert lives(life_points(starts, [seen(20, "60.0")]))[-1] == D("130.0")


def test_a_replaced_meter_with_no_earlier_record_starts_at_the_old_final_figure():
    found = life_points([fitted(0, "0.0", old_final=D("1204.6"))], [seen(5, "30.0")])

    assert lives(found) == [D("1204.6"), D("1234.6")]


def test_a_meter_replaced_without_a_final_figure_adds_nothing():
    starts = [fitted(0, "100.0"), fitted(10, "0.0")]

    assert lives(life_points(starts, [seen(20, "5.0")])) == [D("100.0"), D("100.0"), D("105.0")]


def test_a_reading_at_the_moment_of_a_change_is_of_the_meter_it_is_nearer_to():
    starts = [fitted(0, "1000.0"), fitted(10, "0.0", old_final=D("1204.6"))]

    old = life_points(starts, [seen(10, "1204.6"), seen(20, "30.0")])
    new = life_points(starts, [seen(10, "0.2"), seen(20, "30.0")])

    assert lives(old) == [D("1000.0"), D("1204.6"), D("1204.6"), D("1234.6")]
    assert lives(new) == [D("1000.0"), D("1204.6"), D("1204.8"), D("1234.6")]


def test_a_meter_that_rolled_over_has_run_past_its_roll_point():
    start = fitted(0, "9998.7", rolls_at=D("10000.0"))

    found = life_points([start], [seen(2, "4.2", rolled=True), seen(3, "6.2")])

    assert lives(found) == [D("9998.7"), D("10004.2"), D("10006.2")]
    assert found[1].life - found[0].life == D("5.5")


def test_a_roll_over_with_no_known_roll_point_adds_nothing():
    found = life_points([fitted(0, "9998.7")], [seen(2, "4.2", rolled=True)])

    assert lives(found) == [D("9998.7"), D("9998.7")]


def test_a_lower_reading_without_a_reason_adds_nothing_and_counts_on_from_there():
    assert lives(points((0, "500"), (1, "480"), (2, "483"))) == [D(500), D(500), D(503)]


def test_an_estimate_is_not_counted_on_from():
    readings = [seen(0, "500"), seen(10, "550", estimated=True), seen(20, "540")]

    found = life_points([], readings)

    assert lives(found) == [D(500), D(550), D(540)]
    assert [point.estimated for point in found] == [False, True, False]


def test_an_estimate_past_the_roll_point_is_counted_on_from():
    start = fitted(0, "9998.7", rolls_at=D("10000.0"))
    estimate = seen(2, "4.2", rolled=True, estimated=True)

    assert lives(life_points([start], [estimate, seen(3, "6.2")]))[-1] == D("10006.2")


def test_the_last_run_of_a_replaced_meter_is_by_the_old_meter():
    old = fitted(0, "0", wheel_driven=True, set_for_mm=D(400))
    new = fitted(10, "0", old_final=D(80))

    found = life_points([old, new], [seen(20, "5")], [TyreChange(day(0), D(600))])

    assert lives(found) == [D(0), D(120), D(125)]


def test_a_wheel_driven_meter_reads_low_on_bigger_tyres():
    start = fitted(0, "0", wheel_driven=True, set_for_mm=18 * INCH_MM)
    tyres = [TyreChange(day(0), 22 * INCH_MM)]

    found = life_points([start], [seen(30, "82")], tyres, unit=MILE_M)

    assert round(found[-1].life / MILE_M, 1) == D("100.2")
    assert found[-1].life == D(82) * 22 * MILE_M / 18


def test_a_tyre_change_between_two_readings_parts_the_difference_by_time():
    start = fitted(0, "0", wheel_driven=True, set_for_mm=D(400))
    tyres = [TyreChange(day(10), D(600)), TyreChange(day(30), D(500))]

    found = life_points([start], [seen(40, "80")], tyres)

    assert found[-1].life == 20 + 40 * D(600) / 400 + 20 * D(500) / 400


def test_two_wheel_driven_readings_at_one_moment_use_the_tyre_in_force():
    start = fitted(0, "0", wheel_driven=True, set_for_mm=D(400))

    found = life_points([start], [seen(0, "4")], [TyreChange(day(-1), D(600))])

    assert found[-1].life == 6


@pytest.mark.parametrize(
    "start",
    [
        fitted(0, "0", wheel_driven=False, set_for_mm=D(400)),
        fitted(0, "0", wheel_driven=True),
        fitted(0, "0"),
    ],
)
def test_tyres_do_not_touch_a_meter_that_no_tyre_drives(start):
    found = life_points([start], [seen(10, "80")], [TyreChange(day(0), D(600))])

    assert found[-1].life == 80


def test_before_any_tyre_is_known_the_meter_is_set_right():
    start = fitted(0, "0", wheel_driven=True, set_for_mm=D(400))

    found = life_points([start], [seen(10, "80")], [TyreChange(day(10), D(600))])

    assert found[-1].life == 80


FIGURES = st.decimals(min_value=0, max_value=99999, places=1)
MOMENTS = st.integers(0, 90).map(day)
READINGS = st.lists(
    st.builds(Shown, MOMENTS, FIGURES, rolled=st.booleans(), estimated=st.booleans()), max_size=8
)
METERS = st.lists(
    st.builds(
        MeterStart,
        MOMENTS,
        FIGURES,
        old_final=st.none() | FIGURES,
        rolls_at=st.none() | st.just(D(100000)),
        wheel_driven=st.booleans(),
        set_for_mm=st.none() | st.just(D(450)),
    ),
    max_size=3,
    unique_by=lambda start: start.at,
)
TYRES = st.lists(st.builds(TyreChange, MOMENTS, st.sampled_from([D(450), D(520)])), max_size=3)


@given(METERS, READINGS, TYRES)
def test_life_is_told_for_any_facts_and_never_falls_between_true_points(starts, readings, tyres):
    found = life_points(starts, readings, tyres, unit=MILE_M)

    true = [point.life for point in found if not point.estimated]
    assert len(found) == len(starts) + len(readings)
    assert [point.at for point in found] == sorted(point.at for point in found)
    assert true == sorted(true)


@given(METERS, READINGS, TYRES, st.randoms())
def test_life_is_the_same_in_whatever_order_the_facts_came_in(starts, readings, tyres, chance):
    mixed = [chance.sample(facts, len(facts)) for facts in (starts, readings, tyres)]

    assert life_points(*mixed) == life_points(starts, readings, tyres)


def test_facts_of_one_moment_have_one_order():
    start = fitted(0, "0", wheel_driven=True, set_for_mm=D(400))
    tyres = [TyreChange(day(5), D(400)), TyreChange(day(5), D(600))]
    readings = [seen(10, "80"), seen(10, "80", estimated=True), seen(10, "70")]

    found = life_points([start], readings, tyres)

    assert found == life_points([start], readings[::-1], tyres[::-1])


@given(st.lists(FIGURES, min_size=1, max_size=8))
def test_the_life_of_a_rising_meter_is_what_it_shows_times_the_unit(figures):
    readings = [Shown(day(place), figure) for place, figure in enumerate(sorted(figures))]

    found = life_points([], readings, unit=MILE_M)

    assert lives(found) == [figure * MILE_M for figure in sorted(figures)]


def test_life_at_is_the_last_point_by_then():
    found = points((0, "412.0"), (14, "430.5"), (14, "431.0"))

    assert life_at(found, day(-1)) is None
    assert life_at(found, day(0)) == D("412.0")
    assert life_at(found, day(13)) == D("412.0")
    assert life_at(found, day(14)) == D("431.0")


def test_first_reaching_is_the_first_true_point_at_or_over_the_life():
    estimate = seen(5, "425", estimated=True)
    readings = [seen(0, "412"), estimate, seen(7, "417"), seen(9, "420")]
    found = life_points([], readings)

    assert first_reaching(found, D("417"), after=day(0)).at == day(7)
    assert first_reaching(found, D("417.1"), after=day(0)).at == day(9)
    assert first_reaching(found, D("412"), after=day(1)).at == day(7)
    assert first_reaching(found, D("412"), after=day(9)).at == day(9)
    assert first_reaching(found, D("421"), after=day(0)) is None


def test_shown_at_life_is_the_present_meters_figure():
    starts = [fitted(0, "1000.0"), fitted(10, "0.0", old_final=D("1204.6"))]
    found = life_points(starts, [seen(20, "30.0"), seen(21, "45", estimated=True)])

    assert shown_at_life(found, D("1250.0"), starts=starts) == D("45.4")
    assert shown_at_life(found, D("1200.0"), starts=starts) == D("-4.6")


def test_shown_at_life_counts_from_the_last_true_point():
    found = life_points([], [seen(0, "500"), seen(5, "480", estimated=True)])

    assert shown_at_life(found, D(510)) == 510


def test_shown_at_life_counts_on_the_tyres_now_fitted():
    start = fitted(0, "0", wheel_driven=True, set_for_mm=18 * INCH_MM)
    tyres = [TyreChange(day(0), 22 * INCH_MM)]
    found = life_points([start], [seen(30, "82")], tyres, unit=MILE_M)

    further = found[-1].life + 22 * MILE_M

    figure = shown_at_life(found, further, unit=MILE_M, starts=[start], tyres=tyres)
    assert round(figure, 12) == 100


def test_shown_at_life_knows_of_tyres_fitted_since_the_last_reading():
    start = fitted(0, "0", wheel_driven=True, set_for_mm=D(400))
    found = life_points([start], [seen(10, "80")])

    tyres = [TyreChange(day(20), D(800))]
    assert shown_at_life(found, D(100), starts=[start], tyres=tyres) == 90


def test_shown_at_life_starts_again_at_the_roll_point():
    start = fitted(0, "9998.7", rolls_at=D("10000.0"))

    found = life_points([start], [])

    assert shown_at_life(found, D("10000.0"), starts=[start]) == 0
    assert shown_at_life(found, D("10004.2"), starts=[start]) == D("4.2")


def test_shown_at_life_needs_a_point():
    with pytest.raises(ValueError, match=r"no reading is known.* 417\.0"):
        shown_at_life((), D("417.0"))


@given(METERS, READINGS, TYRES, st.decimals(min_value=0, max_value=500, places=1))
def test_shown_at_life_is_the_inverse_of_life(starts, readings, tyres, more):
    true = [reading for reading in readings if not reading.estimated]
    unrolling = [MeterStart(s.at, s.shown, s.old_final, None, True, D(450)) for s in starts]
    before = life_points(unrolling, true, tyres)
    if not before:
        return
    later = Shown(day(91), before[-1].shown + more)

    # Tyres are settled by the last reading, so that one factor holds from there.
    settled = [change for change in tyres if change.at <= before[-1].at]
    before = life_points(unrolling, true, settled)
    after = life_points(unrolling, [*true, later], settled)

    figure = shown_at_life(before, after[-1].life, starts=unrolling, tyres=settled)
    assert round(figure - later.value, 12) == 0
