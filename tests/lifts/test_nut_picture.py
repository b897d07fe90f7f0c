"""A nut's picture: six corners around the middle, and a wedge as wide as the turn."""

import math
import re

import pytest

from lifts.nut_picture import CENTRE, NUT, TURN, nut_turned


def angles_and_radii(points):
    """Return (degrees clockwise from the top, distance from the middle) of each point."""
    for x, y in points:
        right, up = float(x) - CENTRE, CENTRE - float(y)
        yield round(math.degrees(math.atan2(right, up))) % 360, math.hypot(right, up)


def test_the_nut_has_six_corners_a_flat_apart():
    drawn = re.search(r'points="([^"]+)"', nut_turned(30))[1]

    corners = list(angles_and_radii(point.split(",") for point in drawn.split(" ")))

    assert [angle for angle, _far in corners] == [30, 90, 150, 210, 270, 330]
    assert [far for _angle, far in corners] == pytest.approx([NUT] * 6, abs=0.1)


@pytest.mark.parametrize(
    ("turned", "shown"), [(30, 30), (60, 60), (120, 120), (180, 180), (400, 180)]
)
def test_the_wedge_ends_where_the_nut_turned_to(turned, shown):
    wedge = re.search(r"L([\d.]+),([\d.]+) A[\d.,]+ 0 0 1 ([\d.]+),([\d.]+) Z", nut_turned(turned))

    [(begins, _), (ends, far)] = angles_and_radii([wedge.groups()[:2], wedge.groups()[2:]])

    assert (begins, ends) == (0, shown)
    assert far == pytest.approx(TURN, abs=0.1)
