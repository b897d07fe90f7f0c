from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.due import Dates, Terms, dates_of, state_on
from fleet.gauge import Gauge, in_order
from fleet.layup import LayUp
from fleet.reach import AT_ONCE, Limits, Use
from tests.fleet.story import days_after, miles, noon, reading

MARCH_2 = date(2026, 3, 2)
FIRST_CHECK = Terms(
    limit=Limits(3, Decimal(5), miles(25)),
    opens=AT_ONCE,
    leeway=Limits(1, Decimal(1), miles(5)),
    stop=Limits(7, Decimal(10), miles(50)),
    stop_needs=Limits(None, Decimal(1), miles(5)),
)
SETTLE_CHECK = Terms(
    limit=Limits(30, Decimal(25), miles(100)),
    opens=Limits(None, Decimal("12.5"), miles(50)),
    leeway=Limits(3, Decimal("2.5"), miles(10)),
    stop=Limits(45, Decimal(40), miles(150)),
    settles=True,
)
HUB_PLAY = Terms(limit=Limits(182), leeway=Limits(7), stop=Limits(273))
HOURS_ONLY = Terms(limit=Limits(None, Decimal(25)), leeway=Limits(None, Decimal("2.5")))


def use(*readings, average="3", lay_ups=(), estimated=()):
    """Hours read on days after 2 Mar 2026, as (day, hours)."""
    seen = [reading(days_after(MARCH_2, day), life) for day, life in readings]
    seen += [reading(days_after(MARCH_2, day), life, estimated=True) for day, life in estimated]
    gauge = Gauge(in_order(seen), average and Decimal(average))
    return Use(gauge, lay_ups=tuple(lay_ups))


def dates(terms, used):
    return dates_of(terms, used.anchor(noon(MARCH_2), MARCH_2), used)


def march(day):
    return days_after(date(2026, 2, 28), day)


def test_dates_of_a_calendar_limit_go_late_after_leeway_and_stop_on_the_stop_day():
    found = dates(HUB_PLAY, use())

    assert found == Dates(
        opens_on=date(2026, 7, 25),
        due_on=date(2026, 8, 31),
        late_on=date(2026, 9, 8),
        stops_on=date(2026, 11, 30),
        governs="days",
        calendar_due_on=date(2026, 8, 31),
        earliest=date(2026, 8, 31),
        latest=date(2026, 8, 31),
    )


@pytest.mark.parametrize(
    ("hours", "due", "late", "stops"),
    [
        ("416.9", False, False, False),
        ("417.0", True, False, False),
        ("418.0", True, False, False),
        ("418.1", True, True, False),
        ("421.9", True, True, False),
        ("422.0", True, True, True),
    ],
)
def test_dates_of_the_first_check_at_its_very_limits(hours, due, late, stops):
    found = dates(FIRST_CHECK, use((0, "412.0"), (1, hours)))

    reached = [found.governs == "hours" and not found.forecast]
    reached += [day == march(3) for day in (found.late_on, found.stops_on)]
    assert reached == [due, late, stops]


@pytest.mark.parametrize(
    ("today", "state"),
    [
        (march(1), "ahead"),
        (march(2), "open"),
        (march(4), "open"),
        (march(5), "due"),
        (march(6), "due"),
        (march(7), "late"),
        (march(8), "late"),
        (march(9), "stopped"),
    ],
)
def test_state_on_follows_the_calendar(today, state):
    used = use((0, "412.0"), (1, "413.0"), average=None)

    assert state_on(dates(FIRST_CHECK, used), today) == state


def test_dates_of_the_first_check_stop_by_calendar_from_the_use_that_it_needs():
    unused = dates(FIRST_CHECK, use((0, "412.0"), (20, "412.9"), average=None))
    used = dates(FIRST_CHECK, use((0, "412.0"), (20, "413.0"), average=None))

    assert (unused.late_on, unused.stops_on) == (march(7), None)
    assert used.stops_on == march(22)


def test_dates_of_use_come_from_the_first_reading_that_reached_the_limit():
    found = dates(HOURS_ONLY, use((0, "412.0"), (9, "437.0"), (12, "437.2"), (20, "440.0")))

    assert (found.due_on, found.governs, found.due_hours) == (march(11), "hours", Decimal(437))
    assert (found.forecast, found.late_on) == (False, march(22))


def test_dates_of_use_forecast_by_the_carts_own_rate():
    used = use((0, "412.0"), (14, "430.5"), (28, "446.0"))
    terms = Terms(limit=Limits(None, Decimal("50.0")))

    found = dates(terms, used)

    # 1.21 h a day; 16.0 h more are 13 days
    assert round(used.hours.rate.per_day, 2) == Decimal("1.21")
    assert found.due_on == march(30) + timedelta(days=13)
    assert (found.forecast, found.estimated) == (True, False)
    assert found.earliest <= found.due_on <= found.latest


def test_dates_of_use_without_readings_enough_take_the_class_average():
    found = dates(HOURS_ONLY, use((0, "412.0"), (2, "413.0")))

    assert found.due_on == march(4) + timedelta(days=8)
    assert (found.forecast, found.estimated) == (True, True)
    assert found.earliest == march(4) + timedelta(days=4)
    assert found.latest == march(4) + timedelta(days=16)


def test_dates_of_a_cart_without_meters_are_due_and_never_late():
    found = dates(FIRST_CHECK, use(average="5"))

    assert (found.due_on, found.governs, found.due_hours) == (march(3), "hours", None)
    assert (found.late_on, found.stops_on) == (march(7), None)


def test_dates_of_an_estimated_reading_are_due_and_never_late():
    found = dates(HOURS_ONLY, use((0, "412.0"), estimated=[(5, "500.0")]))

    assert (found.due_on, found.estimated, found.forecast) == (march(7), True, False)
    assert (found.late_on, found.stops_on) == (None, None)


def test_dates_of_an_estimate_give_way_to_a_later_true_reading():
    used = use((0, "412.0"), (8, "414.0"), estimated=[(5, "500.0")], average=None)

    assert dates(HOURS_ONLY, used).due_on != march(7)


def test_dates_of_an_idle_cart_do_not_come_by_use():
    found = dates(HOURS_ONLY, use((0, "412.0"), (10, "412.0"), (20, "412.0")))

    assert (found.due_on, found.opens_on, found.latest) == (None, None, None)
    assert state_on(found, date(2030, 1, 1)) == "ahead"


def test_dates_of_use_before_any_reading_count_from_the_first_one():
    found = dates(HOURS_ONLY, use((3, "412.0"), (9, "440.0")))

    assert (found.due_hours, found.late_on) == (Decimal("437.0"), march(11))


def test_dates_of_a_stale_reading_forecast_from_the_start_of_the_clock():
    found = dates(HOURS_ONLY, use((-30, "400.0")))

    assert found.due_on == MARCH_2 + timedelta(days=8)


def test_dates_of_two_meters_go_by_the_one_with_a_rate_of_its_own():
    hours = use((0, "412.0"), (10, "413.0"), (20, "414.0")).hours
    read = (reading(MARCH_2, 1000), reading(days_after(MARCH_2, 25), 1001))
    used = Use(hours, Gauge(read, Decimal(30000)))

    found = dates(Terms(limit=Limits(None, Decimal(25), miles(100))), used)

    assert (found.governs, found.due_metres) == ("hours", miles(100) + 1000)


def test_dates_of_two_meters_without_rates_go_by_the_one_read_last():
    hours = use((0, "412.0"), (10, "413.0")).hours
    metres = Gauge((reading(MARCH_2, 1000),), Decimal(30000))

    found = dates(Terms(limit=Limits(None, Decimal(25), miles(100))), Use(hours, metres))

    assert (found.governs, found.due_on) == ("hours", march(12) + timedelta(days=8))


@pytest.mark.parametrize(
    ("limit", "opens_on"),
    [
        (Limits(30), date(2026, 3, 18)),  # 14 days before due
        (Limits(100), date(2026, 5, 21)),  # 80 of 100 days
        (Limits(5), MARCH_2),  # never before its start
        (Limits(100, Decimal(10)), date(2026, 3, 8)),  # 80 % of the hours, read
    ],
)
def test_dates_of_work_without_an_opening_open_before_due(limit, opens_on):
    used = use((0, "412.0"), (6, "420.0"), average=None)

    assert dates(Terms(limit=limit), used).opens_on == opens_on


def test_dates_of_work_that_opens_by_a_meter_nobody_reads_open_when_due():
    terms = Terms(limit=Limits(30), opens=Limits(None, Decimal(5)))

    found = dates(terms, use(average=None))

    assert (found.opens_on, found.due_on) == (date(2026, 4, 1), date(2026, 4, 1))


def test_dates_open_by_the_day_they_are_due_at_the_latest():
    by_use = Terms(limit=Limits(30), opens=Limits(None, Decimal(50)))

    assert dates(by_use, use((0, "412.0"), (40, "470.0"))).opens_on == date(2026, 4, 1)


def test_dates_owe_nothing_to_readings_from_before_the_start():
    used = use((-5, "450.0"), estimated=[(0, "412.0")])

    assert (dates(HOURS_ONLY, used).late_on, dates(HOURS_ONLY, used).forecast) == (None, True)


def test_dates_of_the_settle_check_fall_due_by_calendar_with_half_the_use():
    found = dates(SETTLE_CHECK, use((0, "412.0"), (18, "424.5"), average=None))

    assert (found.opens_on, found.due_on) == (march(20), date(2026, 4, 1))
    assert (found.late_on, found.stops_on) == (date(2026, 4, 5), date(2026, 4, 16))
    assert found.governs == "days"


def test_dates_of_the_settle_check_wait_for_half_the_use():
    found = dates(SETTLE_CHECK, use((0, "412.0"), (30, "415.0"), (40, "424.5"), average=None))

    assert found.opens_on == found.due_on == date(2026, 4, 11)
    assert (found.late_on, found.stops_on) == (date(2026, 4, 15), date(2026, 4, 26))
    assert (found.governs, found.calendar_due_on) == ("hours", date(2026, 4, 1))


def test_dates_of_the_settle_check_are_never_late_by_a_forecast_of_its_use():
    found = dates(SETTLE_CHECK, use((0, "412.0"), (5, "415.0"), average="0.8"))

    assert (found.due_on, found.forecast) == (date(2026, 4, 1), True)
    assert (found.late_on, found.stops_on) == (None, None)


def test_dates_of_the_settle_check_stop_by_use_however_early():
    found = dates(SETTLE_CHECK, use((0, "412.0"), (5, "452.0")))

    assert found.stops_on == found.late_on == found.due_on == march(7)


def test_dates_pause_at_rest_by_calendar_and_by_forecast():
    rest = LayUp(date(2026, 3, 10), date(2026, 3, 20))

    calendar = dates(HUB_PLAY, use(lay_ups=[rest]))
    forecast = dates(HOURS_ONLY, use((0, "412.0"), lay_ups=[rest]))

    assert calendar.due_on == date(2026, 9, 10)
    assert forecast.due_on == date(2026, 3, 20)


def test_dates_fixed_do_not_pause():
    rest = LayUp(date(2026, 3, 10), date(2026, 3, 20))

    assert dates(replace(HUB_PLAY, fixed=True), use(lay_ups=[rest])).due_on == date(2026, 8, 31)


def test_dates_never_go_late_or_stopped_at_rest():
    fixed = replace(HUB_PLAY, fixed=True)
    woken = LayUp(date(2026, 9, 5), date(2026, 12, 1))

    at_waking = dates(fixed, use(lay_ups=[woken]))
    asleep = dates(fixed, use(lay_ups=[LayUp(date(2026, 9, 5))]))

    assert (at_waking.due_on, at_waking.late_on) == (date(2026, 8, 31), date(2026, 12, 1))
    assert at_waking.stops_on == date(2026, 12, 1)
    assert (asleep.due_on, asleep.late_on, asleep.stops_on) == (date(2026, 8, 31), None, None)


def test_dates_of_a_reading_at_rest_go_late_on_waking():
    rest = LayUp(date(2026, 3, 10), date(2026, 3, 20))
    used = use((0, "412.0"), (9, "439.6"), lay_ups=[rest], average=None)

    assert dates(HOURS_ONLY, used).late_on == date(2026, 3, 20)


@pytest.mark.parametrize("part", ["days", "hours", "metres"])
def test_limits_refuse_less_than_nothing(part):
    with pytest.raises(ValueError, match=part):
        Limits(**{part: -1})


STEPS = st.lists(
    st.tuples(st.integers(0, 20), st.integers(0, 60), st.booleans()), min_size=1, max_size=12
)
TERMS = st.sampled_from([FIRST_CHECK, SETTLE_CHECK, HUB_PLAY, HOURS_ONLY])
RESTS = st.lists(st.tuples(st.integers(-20, 200), st.integers(0, 300)), max_size=3)
AVERAGES = st.sampled_from([None, "0.5", "3", "8"])


def told(steps):
    """Readings that never fall, from (days on, tenths of hours on, estimated)."""
    day, tenths = MARCH_2, 4120
    seen = [reading(day, Decimal(tenths) / 10)]
    for later, more, estimated in steps:
        day, tenths = days_after(day, later), tenths + more
        seen.append(reading(day, Decimal(tenths) / 10, estimated=estimated))
    return in_order(seen)


def resting(rests):
    return tuple(
        LayUp(days_after(MARCH_2, first), days_after(MARCH_2, first + days))
        for first, days in rests
    )


@given(TERMS, STEPS, RESTS, AVERAGES)
def test_dates_keep_their_order(terms, steps, rests, average):
    used = Use(Gauge(told(steps), average and Decimal(average)), lay_ups=resting(rests))

    found = dates(terms, used)

    order = [found.opens_on, found.due_on, found.late_on, found.stops_on]
    known = [day for day in order if day is not None]
    assert known == sorted(known)
    if found.due_on:
        assert found.earliest is None or found.earliest <= found.due_on
        assert found.latest is None or found.latest >= found.due_on


@given(TERMS, STEPS, RESTS)
def test_dates_late_and_stopped_owe_nothing_to_forecasts_or_estimates(terms, steps, rests):
    seen = told(steps)
    true = tuple(one for one in seen if not one.point.estimated)
    lay_ups = resting(rests)

    guessed = dates(terms, Use(Gauge(seen, Decimal(8)), lay_ups=lay_ups))
    proven = dates(terms, Use(Gauge(true), lay_ups=lay_ups))

    assert (guessed.late_on, guessed.stops_on) == (proven.late_on, proven.stops_on)


@given(TERMS, STEPS, st.data())
def test_dates_late_never_come_earlier_by_one_more_reading_below(terms, steps, data):
    seen = told(steps)
    between = data.draw(st.sampled_from(Gauge(seen).true))
    between = [one for one in Gauge(seen).true if one.point.at == between.point.at][-1]
    at = between.point.at + timedelta(hours=1)
    more = in_order([*seen, reading(between.day, between.point.life, at=at)])

    before, after = (dates(terms, Use(Gauge(one))) for one in (seen, more))

    def known(day):
        return day or date.max

    assert known(after.late_on) >= known(before.late_on)
    assert known(after.stops_on) >= known(before.stops_on)


@given(TERMS, RESTS, st.tuples(st.integers(-20, 200), st.integers(0, 300)))
def test_dates_never_come_earlier_by_one_more_lay_up(terms, rests, one_more):
    seen = told([(3, 2, False)])

    before = dates(terms, Use(Gauge(seen), lay_ups=resting(rests)))
    after = dates(terms, Use(Gauge(seen), lay_ups=resting([*rests, one_more])))

    for name in ("calendar_due_on", "due_on", "late_on", "stops_on"):
        earlier, later = getattr(before, name), getattr(after, name)
        assert earlier is None or later >= earlier


@given(STEPS)
def test_state_on_only_moves_forward(steps):
    found = dates(FIRST_CHECK, Use(Gauge(told(steps), Decimal(3))))
    states = ["ahead", "open", "due", "late", "stopped"]

    places = [states.index(state_on(found, days_after(MARCH_2, day))) for day in range(-3, 60)]

    assert places == sorted(places)
