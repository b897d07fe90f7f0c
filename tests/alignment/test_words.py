import math

import pytest

from alignment import contradictions, order, words
from alignment.contradictions import Contradiction
from alignment.judging import Result
from alignment.models import CamberToeSheet
from alignment.order import Slip


def a_result(probability=0.5, freedom=math.inf):
    return Result(0.0, 0.2, "inside", probability, freedom, 3, 0.1)


@pytest.mark.parametrize(
    ("probability", "said"),
    [
        (0.9999, "over 99 % likely inside"),
        (0.951, "95 % likely inside"),
        (0.0, "under 1 % likely inside"),
    ],
)
def test_probability_is_never_said_to_be_sure(probability, said):
    assert words.probability(a_result(probability)) == said


@pytest.mark.parametrize(
    ("freedom", "said"),
    [
        (math.inf, ""),
        (10.0, ""),
        (9.99, "effective degrees of freedom 9, from the readings’ own scatter"),
        (2.4, "effective degrees of freedom 2, from the readings’ own scatter"),
    ],
)
def test_freedom_is_said_where_it_is_below_ten(freedom, said):
    assert words.freedom(a_result(freedom=freedom)) == said


def test_every_slip_and_every_condition_has_words():
    assert set(words.SLIP_WORDS) == set(order.CODES)
    assert set(words.CONTRADICTIONS) == set(contradictions.KINDS)
    assert set(words.NOT_READY) == {*CamberToeSheet.READY, "floor_level"}


def test_a_slip_names_its_side_and_pass():
    assert words.slip(Slip("toe-after-rod", 3)) == (
        "The tie rods were turned in pass 3: read toe again after it."
    )
    assert words.slip(Slip("camber-again", 2, "left")) == (
        "The left sleeve was turned in pass 2: read this wheel’s camber again."
    )


@pytest.mark.parametrize(
    ("kind", "name", "figures", "said"),
    [
        (
            "scatter",
            "toe",
            (4.0, 4.1, 8.0),
            "toe, pass 1: the readings scatter more than the mark explains: "
            "+4.0 mm (+0.157 in), +4.1 mm (+0.161 in), +8.0 mm (+0.315 in). Read again.",
        ),
        (
            "bent-rim",
            "camber left",
            (-0.45, 0.75),
            "camber left, pass 1: -0.45° as it stood and +0.75° after half a turn of the wheel. "
            "The rim is bent; the mean of both counts.",
        ),
        (
            "wrong-way",
            "camber left",
            (1.0, -0.8, 0.3),
            "camber left, pass 1: the turn should have changed it by +1.00°, and it changed by "
            "-0.80°: the other way. Look at which way it was turned, and at the sign.",
        ),
    ],
)
def test_a_contradiction_says_its_figures(kind, name, figures, said):
    assert words.contradiction(Contradiction(kind, name, 1, figures)) == said
