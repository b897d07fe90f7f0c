from decimal import Decimal

import pytest

from alignment.use_words import use_said

HOURS, KM = Decimal("646.5"), Decimal("160.9344")


# a mile is 1609.344 m: NIST SP 811 (2008) App. B
@pytest.mark.parametrize(
    ("hours", "km", "units", "said"),
    [
        (HOURS, KM, "inch", "646.5 h, 100.0 mi"),
        (HOURS, KM, "metric", "646.5 h, 160.9 km"),
        (None, KM, "inch", "100.0 mi"),
        (HOURS, None, "inch", "646.5 h"),
        (None, None, "metric", ""),
    ],
)
def test_use_is_said_in_the_units_of_the_site(hours, km, units, said):
    assert use_said(hours, km, units) == said
