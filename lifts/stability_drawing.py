"""A cart from behind, to scale: its wheels, centres of gravity and tip lines, as SVG text. Pure.

The words come from the caller. Ink is the page's; the two loads differ by mark and stroke,
not by colour. Presentation attributes only, so that a strict CSP holds.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from lifts.tipping import Stance, Steadiness

PANEL_WIDTH, TOP_ROOM, FOOT_ROOM = 200, 34, 52
MOST_HIGH = 260  # px of the cart itself
SIDE_ROOM, TEXT_SIZE, LINE_HEIGHT = 14, 12, 16
# Neither is recorded; drawn so that the picture reads as a cart.
TYRE_WIDTH_MM, ELSE_TYRE_MM = 215.0, 457.0
BODY_ABOVE_CG, LINE_BEYOND_CG = 1.3, 1.25  # times the height of the higher centre of gravity


@dataclass(frozen=True)
class Panel:
    """One stance to draw: its name, the tyres in mm if known, a line of words for each load."""

    title: str
    stance: Stance
    tyre_mm: float | None
    empty_words: str
    seated_words: str = ""


@dataclass(frozen=True)
class Scale:
    """Maps mm from the middle of a panel and above the ground into the view box."""

    middle: float
    ground_y: float
    px_per_mm: float

    def x(self, mm: float) -> float:
        return self.middle + mm * self.px_per_mm

    def y(self, mm: float) -> float:
        return self.ground_y - mm * self.px_per_mm


def rear_view(panels: Sequence[Panel], *, title: str, told: str, key: str = "rear") -> str:
    """Return an SVG of the panels beside each other, all to one scale.

    ``told`` tells the drawing to who cannot see it. Raises ValueError without a panel.
    """
    if not panels:
        raise ValueError("panels must hold one at least, not none")
    px_per_mm = min(map(_px_per_mm, panels))
    ground_y = TOP_ROOM + px_per_mm * max(_top_mm(panel.stance) for panel in panels)
    parts = []
    for place, panel in enumerate(panels):
        parts += _panel(panel, Scale(PANEL_WIDTH * (place + 0.5), ground_y, px_per_mm))
    width, height = PANEL_WIDTH * len(panels), ground_y + FOOT_ROOM
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height:.0f}" role="img"'
        f' aria-labelledby="{key}-title {key}-told" font-family="sans-serif">'
        f'<title id="{key}-title">{escape(title)}</title>'
        f'<desc id="{key}-told">{escape(told)}</desc>{"".join(parts)}</svg>'
    )


def _px_per_mm(panel):
    wide_mm = panel.stance.track_mm + TYRE_WIDTH_MM
    return min((PANEL_WIDTH - 2 * SIDE_ROOM) / wide_mm, MOST_HIGH / _top_mm(panel.stance))


def _top_mm(stance):
    return BODY_ABOVE_CG * max(load.cg_mm for load in (stance.empty, stance.seated) if load)


def _panel(panel, at):
    stance = panel.stance
    tyre_mm = panel.tyre_mm or ELSE_TYRE_MM
    yield _text(at.middle, 20, panel.title, weight="bold")
    yield _line(
        at.middle - PANEL_WIDTH / 2 + 6, at.ground_y, at.middle + PANEL_WIDTH / 2 - 6, at.ground_y
    )
    for side in (-1, 1):
        yield _box(at, side * stance.track_mm / 2, TYRE_WIDTH_MM, 0, tyre_mm, "1.8")
    inner_mm = stance.track_mm - TYRE_WIDTH_MM
    top_mm = _top_mm(stance)
    yield _box(at, 0, inner_mm, tyre_mm / 2, top_mm, "1", dashed=True)
    yield _upright(at, stance.track_mm / 2, top_mm)
    yield from _load(at, stance.track_mm, stance.empty, is_seated=False)
    yield _text(at.middle, at.ground_y + 24, f"○ {panel.empty_words}")
    if stance.seated:
        yield from _load(at, stance.track_mm, stance.seated, is_seated=True)
        yield _text(at.middle, at.ground_y + 24 + LINE_HEIGHT, f"● {panel.seated_words}")


def _load(at: Scale, track_mm: float, load: Steadiness, *, is_seated: bool):
    """Draw a centre of gravity, and the line over which the cart would tip."""
    beyond = LINE_BEYOND_CG
    end_mm = track_mm / 2 * (1 - beyond)
    dash = "" if is_seated else ' stroke-dasharray="5 4"'
    yield _line(at.x(track_mm / 2), at.ground_y, at.x(end_mm), at.y(load.cg_mm * beyond), more=dash)
    words = f"{load.tip_deg:.1f}°"
    yield _text(at.x(end_mm) - 3, at.y(load.cg_mm * beyond) + 4, words, anchor="end")
    fill = "currentColor" if is_seated else "#fff"
    yield (
        f'<circle cx="{at.x(0):.1f}" cy="{at.y(load.cg_mm):.1f}" r="5" fill="{fill}"'
        ' stroke="currentColor" stroke-width="1.5"/>'
    )


def _upright(at, x_mm, top_mm):
    """Draw the upright from which the tip angle is counted."""
    dots = ' stroke-dasharray="1 4"'
    return _line(at.x(x_mm), at.ground_y, at.x(x_mm), at.y(top_mm), more=dots)


def _box(at, middle_mm, width_mm, low_mm, high_mm, stroke, *, dashed=False):
    x, y = at.x(middle_mm - width_mm / 2), at.y(high_mm)
    width, height = width_mm * at.px_per_mm, (high_mm - low_mm) * at.px_per_mm
    dash = ' stroke-dasharray="2 3"' if dashed else ""
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{height:.1f}" fill="none"'
        f' stroke="currentColor" stroke-width="{stroke}"{dash}/>'
    )


def _line(x1, y1, x2, y2, more=""):
    return (
        f'<path d="M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}" stroke="currentColor"'
        f' stroke-width="1.2" fill="none"{more}/>'
    )


def _text(x, y, words, weight="normal", anchor="middle"):
    # an edge of paper, so that no line runs through the letters
    edge = ' paint-order="stroke" stroke="#fff" stroke-width="4"'
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{TEXT_SIZE}" font-weight="{weight}"{edge}'
        f' text-anchor="{anchor}" fill="currentColor">{escape(words)}</text>'
    )
