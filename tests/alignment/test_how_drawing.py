"""How to read camber and toe: what is drawn gives the sign that its words tell."""

import pytest

from alignment.geometry import camber_deg, toe_mm
from alignment.how_drawing import LEAN_DEG
from alignment.how_pictures import how_to_read
from tests.drawings import faults, named, overlaps, own_points, read, said, size


@pytest.fixture
def square():
    return read(how_to_read()[0])


@pytest.fixture
def tape():
    return read(how_to_read()[1])


def lengths(root, name):
    """Return how long each line of that name is, from the top of the drawing down."""
    ends = sorted((own_points(node) for node in named(root, name)), key=lambda two: two[0][1])
    return [abs(right[0] - left[0]) for left, right in ends]


def test_the_gaps_drawn_are_those_of_a_wheel_that_leans_in(square):
    top, bottom = lengths(square, "gap")
    [height] = [own_points(node) for node in named(square, "between")]

    assert camber_deg(top, bottom, height[1][1] - height[0][1]) == pytest.approx(
        -LEAN_DEG, abs=0.01
    )
    assert "Bigger gap at top = top leans in = minus." in said(square)


def test_the_gaps_end_at_the_square(square):
    [corners] = [own_points(node) for node in named(square, "square")]
    blade_x = min(x for x, _y in corners)

    for node in named(square, "gap"):
        assert max(x for x, _y in own_points(node)) == pytest.approx(blade_x)


def test_the_tapes_drawn_are_those_of_toe_in(tape):
    front, rear = lengths(tape, "tape")

    assert toe_mm(front, rear) > 0
    assert "Rear less front: plus = toe-in (front closer)." in said(tape)


def test_each_drawing_says_from_where_it_is_seen(square, tape):
    assert any("Seen from the front" in words for words in said(square))
    assert any("Seen from above" in words for words in said(tape))


@pytest.mark.parametrize("place", [0, 1])
def test_words_lie_apart_and_nothing_breaks_the_policy_of_the_page(place):
    drawing = how_to_read()[place]
    root = read(drawing)

    assert overlaps(root) == []
    assert faults(drawing) == []
    assert size(root)[0] == 360
