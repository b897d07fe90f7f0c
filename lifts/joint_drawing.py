"""A cart seen from below with a numbered mark for each joint, as SVG text. Pure.

Ink is the page's (``currentColor``); what was found differs by shape and fill, not by
colour. Presentation attributes only, so that a strict CSP holds.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from xml.sax.saxutils import escape

from lifts.joint_places import (
    FRONT_AXLE_Y,
    HEIGHT,
    LEFT_HAND,
    MIDDLE,
    REAR_AXLE_Y,
    RIGHT_HAND,
    SIDES,
    WIDTH,
    Point,
)

CELL_WIDTH, CELL_HEIGHT = 44, 22
COLUMNS = WIDTH // CELL_WIDTH
FIRST_Y = 45  # above it stand the words for front, left and right
ROWS = (HEIGHT - FIRST_Y) // CELL_HEIGHT
STRIP_HEAD = 24
SHAPE_LEFT, SIZE = 11, 7.5  # from the middle of a cell; half a shape's width
DIGIT = 9  # room for one
FAR = 25  # a mark farther than that from its joint is tied to it by a line
FIRM, TOOK_UP, SLACK, GONE = "firm", "took up", "slack", "gone"
NOT_REACHED, NEVER, BLANK = "not reached", "never", "blank"
PAPER = "#fff"
DEFS = (
    '<defs><pattern id="map-took-up" width="4" height="4" patternUnits="userSpaceOnUse">'
    '<rect width="4" height="4" fill="#fff"/>'
    '<path d="M0 1H4M0 3H4" stroke="currentColor" stroke-width="0.9"/></pattern>'
    '<pattern id="map-slack" width="5" height="5" patternUnits="userSpaceOnUse">'
    '<rect width="5" height="5" fill="#fff"/>'
    '<path d="M0 0 5 5M5 0 0 5" stroke="currentColor" stroke-width="1"/></pattern></defs>'
)
INK = 'stroke="currentColor" stroke-width="1.8"'


@dataclass(frozen=True)
class Mark:
    """A joint to draw: its number, what was found there, and where it sits if that is known."""

    number: int
    found: str
    at: Point | None


@dataclass(frozen=True)
class Words:
    """What the drawing says: its title and what it tells, its sides and ends, its strip."""

    title: str
    told: str
    left: str
    right: str
    front: str
    rear: str
    strip: str


def laid_out(places: Sequence[Point | None]) -> list[Point]:
    """Return the middle of a mark's cell for each place, no two in one cell.

    Each takes the free cell nearest to its place, the earlier ones first; what has no place
    goes to the strip under the cart, row by row, as does what finds no cell free.
    """
    free = {
        (CELL_WIDTH // 2 + CELL_WIDTH * column, FIRST_Y + CELL_HEIGHT * row)
        for column, row in product(range(COLUMNS), range(ROWS))
    }
    cells, in_strip = [], 0
    for place in places:
        if place is None or not free:
            cells.append(_strip_cell(in_strip))
            in_strip += 1
            continue
        nearest = min(free, key=lambda cell: (_apart(_shape_at(cell), place), cell))
        free.remove(nearest)
        cells.append(nearest)
    return cells


def _apart(one, other):
    return (one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2


def _strip_cell(count):
    row, column = divmod(count, COLUMNS)
    y = HEIGHT + STRIP_HEAD + CELL_HEIGHT * row + CELL_HEIGHT // 2
    return CELL_WIDTH // 2 + CELL_WIDTH * column, y


def drawing(marks: Sequence[Mark], words: Words) -> str:
    """Return the cart with each mark once, as SVG text."""
    cells = laid_out([mark.at for mark in marks])
    bottom = max([HEIGHT, *(y + CELL_HEIGHT // 2 for _x, y in cells)])
    pairs = list(zip(marks, cells, strict=True))
    parts = [DEFS, CART, *_captions(words)]
    if bottom > HEIGHT:
        parts.append(_text(0, HEIGHT + 16, words.strip, anchor="start"))
    # ties lie under the marks, so that none crosses a number
    parts += [_tie(mark.at, cell) for mark, cell in pairs if _is_tied(mark.at, cell)]
    parts += [_mark(mark, cell) for mark, cell in pairs]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {bottom}" role="img"'
        ' aria-labelledby="map-title map-told" font-family="sans-serif">'
        f'<title id="map-title">{escape(words.title)}</title>'
        f'<desc id="map-told">{escape(words.told)}</desc>{"".join(parts)}</svg>'
    )


def key_drawing(found: str) -> str:
    """Return the shape alone, to stand beside its word; the drawing holds its fill."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20" width="20" height="20"'
        f' aria-hidden="true">{_shape(found, 10, 10)}</svg>'
    )


def _captions(words: Words) -> Iterable[str]:
    yield _text(MIDDLE, 16, f"▲ {words.front}", weight=700)
    yield _text(MIDDLE, HEIGHT - 4, words.rear)
    for hand, said in ((LEFT_HAND, words.left), (RIGHT_HAND, words.right)):
        is_at_right = SIDES[hand] > 0
        anchor = "end" if is_at_right else "start"
        yield _text(WIDTH - 2 if is_at_right else 2, 16, said, anchor=anchor, weight=700)


def _is_tied(place, cell):
    return place is not None and _apart(place, _shape_at(cell)) > FAR**2


def _shape_at(cell):
    return cell[0] - SHAPE_LEFT, cell[1]


def _tie(place: Point, cell: Point) -> str:
    (x1, y1), (x2, y2) = place, _shape_at(cell)
    return (
        f'<path d="M{x1} {y1}L{x2} {y2}" stroke="currentColor" stroke-width="0.8"/>'
        f'<circle cx="{x1}" cy="{y1}" r="2" fill="currentColor"/>'
    )


def _mark(mark: Mark, cell: Point) -> str:
    x, y = cell
    left, top = x - SHAPE_LEFT - SIZE - 1, y - SIZE - 1
    wide = 2 * SIZE + 6 + DIGIT * len(str(mark.number))
    back = f'<rect x="{left}" y="{top}" width="{wide}" height="{2 * SIZE + 2}" fill="{PAPER}"/>'
    number = _text(x, y + 5, str(mark.number), anchor="start", weight=700, size=14)
    return f'<g class="map-mark">{back}{_shape(mark.found, *_shape_at(cell))}{number}</g>'


def _shape(found: str, x: float, y: float) -> str:
    return _SHAPES[found](x, y)


def _circle(x, y, about):
    return f'<circle cx="{x}" cy="{y}" r="{SIZE - 0.5}" {about}/>'


def _square(x, y, about):
    side = 2 * SIZE - 2
    return f'<rect x="{x - SIZE + 1}" y="{y - SIZE + 1}" width="{side}" height="{side}" {about}/>'


def _triangle(x, y):
    low = y + SIZE - 1
    return (
        f'<path d="M{x} {y - SIZE}L{x + SIZE} {low}L{x - SIZE} {low}Z"'
        f' fill="url(#map-took-up)" {INK}/>'
    )


def _cross(x, y):
    far = SIZE - 1
    return (
        f'<path d="M{x - far} {y - far}L{x + far} {y + far}M{x + far} {y - far}'
        f'L{x - far} {y + far}" fill="none" stroke="currentColor" stroke-width="3.6"/>'
    )


_SHAPES = {
    FIRM: lambda x, y: _circle(x, y, f'fill="currentColor" {INK}'),
    TOOK_UP: _triangle,
    SLACK: lambda x, y: _square(x, y, f'fill="url(#map-slack)" {INK}'),
    GONE: _cross,
    NOT_REACHED: lambda x, y: _circle(x, y, f'fill="{PAPER}" {INK}'),
    NEVER: lambda x, y: _circle(x, y, f'fill="{PAPER}" {INK} stroke-dasharray="2.6 2.8"'),
    BLANK: lambda x, y: _square(x, y, f'fill="{PAPER}" stroke="currentColor" stroke-width="0.8"'),
}


def _text(x, y, words, *, anchor="middle", weight=400, size=12):
    return (
        f'<text x="{x}" y="{y}" font-size="{size}" font-weight="{weight}"'
        f' text-anchor="{anchor}" fill="currentColor">{escape(words)}</text>'
    )


def _mirrored(path: str) -> str:
    """Return a shape, and its like on the other side of the middle."""
    return f'{path}<g transform="matrix(-1 0 0 1 {WIDTH} 0)">{path}</g>'


def _wheel(axle_y: int) -> str:
    return (
        f'<rect x="12" y="{axle_y - 46}" width="40" height="92" rx="9"/>'
        f'<path d="M52 {axle_y}H66M59 {axle_y - 20}V{axle_y + 20}"/>'
    )


_HALF = (
    # frame rail, foot board, tyres
    '<path d="M148 44V526M158 44V526"/><path d="M66 200H84V372H66"/>'
    f"{_wheel(FRONT_AXLE_Y)}{_wheel(REAR_AXLE_Y)}"
    # front arms and tie rod
    f'<path d="M148 104L66 {FRONT_AXLE_Y}L148 160"/><path d="M66 178L98 188H148"/>'
    # rear axle, leaf spring with its eyes and shackle
    f'<path d="M66 {REAR_AXLE_Y - 7}H168M66 {REAR_AXLE_Y + 7}H168"/>'
    '<path d="M110 356C104 410 104 462 110 508M118 356C124 410 124 462 118 508"/>'
    '<circle cx="114" cy="356" r="5"/><circle cx="114" cy="508" r="5"/>'
)
CART = (
    '<g fill="none" stroke="currentColor" stroke-width="1.1" stroke-opacity="0.55">'
    f"{_mirrored(_HALF)}"
    # bumper, cross members, rack, motor with the rear axle's middle, rear bumper
    '<path d="M92 52Q198 28 304 52V60Q198 38 92 60Z"/>'
    '<path d="M158 92H238M158 240H238M158 330H238M158 526H238M148 526V534H248V526"/>'
    '<rect x="148" y="202" width="100" height="14" rx="5"/>'
    f'<circle cx="198" cy="{REAR_AXLE_Y}" r="30"/>'
    '<rect x="172" y="468" width="52" height="44" rx="8"/>'
    "</g>"
)
