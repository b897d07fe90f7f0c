"""What a row of the board says: why now, since when, and the span of a forecast."""

from datetime import date
from decimal import Decimal

import pytest

from fleet.board import Work
from fleet.why_now import span_said, when, why_now
from shared.models import Site
from tests.factories import CartFactory, RecheckFactory, SiteFactory
from tests.fleet.board_rows import TODAY, day

pytestmark = pytest.mark.django_db
METERS = {
    "hours_shown": Decimal("438.2"),
    "hours_life": Decimal("938.2"),
    "distance_shown": Decimal("1900"),
    "distance_unit": "mi",
    "metres_life": Decimal("1609.344") * 2900,
    "metres_per_shown": Decimal("1609.344"),
}


@pytest.mark.parametrize(
    ("about", "words"),
    [
        (
            {"governs": "hours", "due_hours": Decimal(937), "due_on": TODAY},
            "at 437.0 h, meter 438.2 h: 1.2 h past",
        ),
        (
            {"governs": "distance", "due_metres": Decimal("1609.344") * 2950},
            "at 1,950.0 mi, meter 1,900.0 mi: 50.0 mi left",
        ),
        ({"governs": "days", "due_on": day(3)}, "3 days left"),
        ({"governs": "days", "due_on": day(1)}, "1 day left"),
        ({"governs": "days", "due_on": TODAY}, "due today"),
        ({"governs": "days", "due_on": day(-1)}, "1 day past"),
        ({"governs": "days", "due_on": day(-12)}, "12 days past"),
        (
            {
                "governs": "hours",
                "due_hours": Decimal(940),
                "is_forecast": True,
                "earliest_on": date(2026, 3, 29),
                "latest_on": date(2026, 4, 4),
            },
            "at 440.0 h, meter 438.2 h: 1.8 h left; forecast, 29 Mar to 4 Apr",
        ),
        (
            {"governs": "days", "due_on": day(3), "is_estimated": True},
            "3 days left; estimated",
        ),
        (
            {
                "governs": "hours",
                "due_hours": Decimal(940),
                "is_forecast": True,
                "earliest_on": date(2026, 3, 29),
            },
            "at 440.0 h, meter 438.2 h: 1.8 h left; forecast, from Sun 29 Mar",
        ),
    ],
)
def test_why_now_says_which_limit_and_how_far(about, words):
    site = SiteFactory.build(date_order=Site.DateOrder.DMY)
    row = RecheckFactory.build(**({"due_on": day(9)} | about))
    cart = CartFactory.build(**METERS)

    assert why_now(Work.of(row, cart), TODAY, site) == words


@pytest.mark.parametrize(
    ("order", "first", "last", "words"),
    [
        ("mdy", date(2026, 4, 2), date(2026, 4, 5), "Apr 2 to 5"),
        ("mdy", date(2027, 3, 2), date(2027, 3, 5), "Mar 2 to 5, 2027"),
        ("mdy", date(2027, 3, 29), date(2027, 4, 4), "Mar 29 to Apr 4, 2027"),
        ("dmy", date(2027, 3, 2), date(2027, 3, 5), "2 to 5 Mar 2027"),
        ("mdy", date(2026, 12, 30), date(2027, 1, 3), "Wed Dec 30 to Jan 3, 2027"),
    ],
)
def test_a_span_says_its_month_and_year_once(order, first, last, words):
    assert span_said(first, last, TODAY, SiteFactory.build(date_order=order)) == words


def test_why_now_of_work_without_any_day_waits_for_a_reading():
    work = Work.of(RecheckFactory.build(governs=""), CartFactory.build())

    assert why_now(work, TODAY, SiteFactory.build()) == "waits for a meter reading"


@pytest.mark.parametrize(
    ("late", "stops", "said"),
    [
        (None, None, ("Fri Mar 20", "")),
        (-2, None, ("Fri Mar 20", "late since Sat Mar 28")),
        (-2, -1, ("Fri Mar 20", "stopped since Sun Mar 29")),
    ],
)
def test_when_says_the_day_in_the_order_of_the_site(late, stops, said):
    row = RecheckFactory.build(due_on=day(-10), late_on=day(late), stops_on=day(stops))

    assert when(Work.of(row, CartFactory.build()), TODAY, SiteFactory.build()) == said
