"""The score interval against published figures.

R. G. Newcombe, Two-sided confidence intervals for the single proportion: comparison of seven
methods, Statistics in Medicine 17 (1998) 857-872, table I, method 3. Figures from memory of
the table; each is also worked anew from the quadratic that defines the interval.
"""

from decimal import Decimal, localcontext

import pytest

from fleet.shares import score_interval

NEWCOMBE = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0000, 0.1611),
    (1, 29, 0.0061, 0.1718),
]


@pytest.mark.parametrize(("found", "looked", "low", "high"), NEWCOMBE)
def test_interval_is_the_published_one(found, looked, low, high):
    assert score_interval(found, looked) == pytest.approx((low, high), abs=0.00005)


@pytest.mark.parametrize(("found", "looked"), [(81, 263), (15, 148), (1, 29), (3, 7), (7, 7)])
def test_both_ends_lie_on_the_curve_that_defines_them(found, looked):
    with localcontext(prec=40):
        z, share = Decimal("1.959963984540054"), Decimal(found) / looked

        for end in map(Decimal, score_interval(found, looked)):
            # (share - end)^2 = z^2 end (1 - end) / n
            off = (share - end) ** 2 - z**2 * end * (1 - end) / looked
            assert abs(off) < Decimal("1e-15")


@pytest.mark.parametrize(("found", "looked"), [(0, 0), (2, 1), (-1, 5)])
def test_what_is_no_share_is_refused(found, looked):
    with pytest.raises(ValueError, match=f"{found} of {looked}"):
        score_interval(found, looked)
