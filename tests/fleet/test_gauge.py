"""What a meter's readings amount to."""

from datetime import date
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
