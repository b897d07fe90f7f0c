from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.lettering import (
    INSIDE,
    NOT_IN_TABLE,
    OUTSIDE,
    legibility,
    needed_height_mm,
    needed_type_pt,
    signal_word_needed_mm,
    tag_legibility,
)

D = Decimal


@pytest.mark.parametrize(
    ("distance_mm", "size_pt"),
    [
        ("1", 10),
        ("609.6", 10),  # 2 ft
        ("609.7", 12),
        ("762", 12),  # 2 ft 6 in takes the size for 3 ft
        ("914.5", 14),
        ("1219.3", 16),
        ("1524", 16),
        ("1524.1", None),
    ],
)
def test_needed_type_pt_is_that_of_the_next_longer_distance(distance_mm, size_pt):
    assert needed_type_pt(D(distance_mm)) == size_pt


def test_needed_height_mm_is_that_of_a_capital():
    # 16 / 72 in x 25.4 x 0.70
    assert round(needed_height_mm(D(1524)), 3) == D("3.951")
    assert needed_height_mm(D(1525)) is None


@pytest.mark.parametrize(
    ("letter_mm", "distance_mm", "said"),
    [
        ("3.952", "1524", INSIDE),
        ("3.951", "1524", OUTSIDE),
        ("9", "1525", NOT_IN_TABLE),
        ("2.470", "600", INSIDE),
        ("2.469", "600", OUTSIDE),
    ],
)
def test_legibility(letter_mm, distance_mm, said):
    assert legibility(D(letter_mm), D(distance_mm)) == said


@pytest.mark.parametrize(("metres", "said"), [("1.52", INSIDE), ("1.51", OUTSIDE), ("3", INSIDE)])
def test_tag_legibility(metres, said):
    assert tag_legibility(D(metres)) == said


@pytest.mark.parametrize("ask", [needed_height_mm, signal_word_needed_mm, tag_legibility])
@pytest.mark.parametrize("value", ["0", "-1"])
def test_what_is_not_above_zero_is_refused(ask, value):
    with pytest.raises(ValueError, match=f"must be above zero, not {value}"):
        ask(D(value))


@pytest.mark.parametrize(
    ("letter_mm", "distance_mm", "said"),
    [("0", "600", "letter_height_mm"), ("3", "0", "distance_mm")],
)
def test_legibility_refuses(letter_mm, distance_mm, said):
    with pytest.raises(ValueError, match=f"{said} must be above zero, not 0"):
        legibility(D(letter_mm), D(distance_mm))


DISTANCES = st.decimals(1, 1524, places=1)
HEIGHTS = st.decimals("0.1", 20, places=2)


@given(DISTANCES, DISTANCES)
def test_farther_away_never_needs_smaller_letters(one, other):
    near, far = sorted([one, other])

    assert needed_height_mm(near) <= needed_height_mm(far)


@given(HEIGHTS, HEIGHTS, DISTANCES)
def test_taller_letters_never_read_worse(one, other, distance):
    small, tall = sorted([one, other])

    assert (legibility(small, distance), legibility(tall, distance)) != (INSIDE, OUTSIDE)


@given(DISTANCES)
def test_the_needed_height_itself_is_inside(distance):
    assert legibility(needed_height_mm(distance), distance) == INSIDE


@given(HEIGHTS)
def test_a_signal_word_is_taller_than_its_message(height):
    assert signal_word_needed_mm(height) > height
