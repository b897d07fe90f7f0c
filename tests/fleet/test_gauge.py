"""What a meter's readings amount to."""

from datetime import date, timedelta
from decimal import Decimal

from fleet.gauge import Gauge, in_order
from tests.fleet.story import days_after, reading

MARCH_2 = date(2026, 3, 2)


def test_no_rate_is_above_what_is_possible():
    read = in_order([reading(days_after(MARCH_2, day), day * 100) for day in (0, 5, 10)])

    own, average = Gauge(read, most_per_day=Decimal(24)), Gauge((), Decimal(13), Decimal(24))

    assert (own.rate.per_day, own.rate.high) == (24, 24)
    assert own.until(read[1].point.at).most_per_day == 24
    assert (average.rate.per_day, average.rate.high) == (13, 24)


def test_readings_of_one_sitting_make_no_rate_but_the_average():
    first = reading(MARCH_2, "412.5")
    after = [(6, "413.0"), (9, "413.2")]
    points = [
        first.point._replace(at=first.point.at + timedelta(minutes=late), life=Decimal(life))
        for late, life in after
    ]
    read = in_order([first, *(first._replace(point=point) for point in points)])

    gauge = Gauge(read, Decimal(3))

    assert not gauge.has_own_rate
    assert (gauge.rate.per_day, gauge.rate.estimated) == (3, True)
