from datetime import UTC, date, datetime

import pytest

from shared.dates import shown_day, shown_moment

DAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("order", "text"), [("ymd", "2026-03-02"), ("mdy", "03/02/2026"), ("dmy", "02/03/2026")]
)
def test_shown_day_keeps_the_order_of_the_site(order, text):
    assert shown_day(DAY, order) == text


def test_shown_moment_is_by_the_clock_of_the_site():
    late = datetime(2026, 3, 2, 3, 30, tzinfo=UTC)

    assert shown_moment(late, "America/New_York", "mdy") == "03/01/2026 22:30"


def test_shown_day_and_moment_refuse_what_they_cannot_say():
    with pytest.raises(ValueError, match="'ydm'"):
        shown_day(DAY, "ydm")
    with pytest.raises(ValueError, match="2026-03-02 03:30"):
        shown_moment(datetime(2026, 3, 2, 3, 30), "UTC", "mdy")
