from decimal import Decimal

import pytest

from lifts.lubricant import grams_given, must_purge


def test_strokes_of_a_gun_in_grams():
    # 1.2 g x 4 strokes x 8 fittings = 38 g; the gun's figure is common practice, no source
    assert grams_given(Decimal("1.2"), [(4, 8)]) == Decimal("38.4")
    assert grams_given(Decimal("1.2"), [(4, 6), (4, 2)]) == Decimal("38.4")
    assert grams_given(Decimal("1.2"), []) == 0


@pytest.mark.parametrize("gives", ["0", "-1"])
def test_a_gun_that_gives_nothing_is_refused(gives):
    with pytest.raises(ValueError, match="grams_a_stroke must be above zero"):
        grams_given(Decimal(gives), [(4, 8)])


@pytest.mark.parametrize(
    ("before", "now", "purges"),
    [
        ("lithium", "lithium", False),
        ("lithium", "polyurea", True),
        (None, "polyurea", False),
        ("lithium", None, False),
        (None, None, False),
    ],
)
def test_another_thickener_is_purged_where_both_are_known(before, now, purges):
    assert must_purge(before, now) is purges
