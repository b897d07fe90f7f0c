"""A nut seen from above with how far it turned; the words beside it say the same."""

import math
from functools import cache

from django.utils.html import format_html

SIZE, CENTRE = 48, 24
NUT, HOLE, TURN = 15, 7, 22  # radii, to corners for the nut
CORNERS_DEG = range(30, 390, 60)
HALF_TURN_DEG = 180


@cache
def nut_turned(degrees) -> str:
    """Return an inline SVG of a nut and the angle it turned, clockwise from the top.

    The angle is more than none and at most half a turn: what is more is drawn as that.
    """
    return format_html(
        '<svg class="nut" viewBox="0 0 {0} {0}" width="{0}" height="{0}" aria-hidden="true"'
        ' focusable="false"><path class="nut-turn" d="M{1},{1} L{2} A{3},{3} 0 0 1 {4} Z"/>'
        '<polygon points="{5}"/><circle cx="{1}" cy="{1}" r="{6}"/></svg>',
        SIZE,
        CENTRE,
        _at(0, TURN),
        TURN,
        _at(min(degrees, HALF_TURN_DEG), TURN),
        " ".join(_at(corner, NUT) for corner in CORNERS_DEG),
        HOLE,
    )


def _at(degrees, radius):
    """Return the point at an angle clockwise from the top, as an SVG writes it."""
    angle = math.radians(degrees)
    x, y = CENTRE + radius * math.sin(angle), CENTRE - radius * math.cos(angle)
    return f"{x:.1f},{y:.1f}"
