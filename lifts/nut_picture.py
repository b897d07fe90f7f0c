"""A nut seen from above with how far it turned; the words beside it say the same."""

import math

from django.utils.html import format_html

SIZE, CENTRE, NUT, HOLE, ARC = 48, 24, 15, 7, 20
HALF_TURN_DEG = 180


def nut_turned(degrees) -> str:
    """Return an inline SVG of a nut turned by up to half a turn, clockwise from the top."""
    corners = " ".join("{:.1f},{:.1f}".format(*_at(corner * 60 + 30, NUT)) for corner in range(6))
    return format_html(
        '<svg class="nut" viewBox="0 0 {0} {0}" width="{0}" height="{0}" aria-hidden="true"'
        ' focusable="false"><path class="nut-turn" d="M{1},{1} L{2} A{3},{3} 0 0 1 {4} Z"/>'
        '<polygon points="{5}"/><circle cx="{1}" cy="{1}" r="{6}"/></svg>',
        SIZE,
        CENTRE,
        _pair(0),
        ARC + 2,
        _pair(degrees),
        corners,
        HOLE,
    )


def _pair(degrees):
    return "{:.1f},{:.1f}".format(*_at(degrees, ARC + 2))


def _at(degrees, radius):
    """Return the point at an angle clockwise from the top."""
    angle = math.radians(min(degrees, HALF_TURN_DEG))
    return CENTRE + radius * math.sin(angle), CENTRE - radius * math.cos(angle)
