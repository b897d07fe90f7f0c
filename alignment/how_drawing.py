"""How camber and toe are read: where the square stands, where the tape runs, as SVG text. Pure.

The square seen from the front of the cart, at the wheel cut through, which stands at the
right of the drawing: the cart's left. The tape seen from above, the front of the cart up.
Both lean and toe are drawn far larger than a cart's. Words come from the caller.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from alignment import ink
from alignment.ink import Point

LEAN_DEG = 9.0
HUB: Point = (116, 152)
TYRE_HIGH, TYRE_WIDE, SECTION_HIGH, ROUND = 224, 88, 50, 20
RIM_HIGH, RIM_WIDE, LIP = 130, 74, 9
FLOOR_Y = 268
BLADE, FOOT_LONG = 14, 110
CLEAR = 4  # px between the tyre's bulge and the square
LABELS_X = 250

TOE_DEG = 7.0
AXLE_Y, HALF_TRACK, TREAD_WIDE, TREAD_LONG = 132, 118, 62, 160
MARK = 7


@dataclass(frozen=True)
class SquareWords:
    title: str
    told: str
    top: str
    bottom: str
    between: str
    square: str
    rim: str
    tyre: str
    cart: str
    notes: Sequence[str] = ()


@dataclass(frozen=True)
class TapeWords:
    title: str
    told: str
    front: str
    front_tape: str
    rear_tape: str
    notes: Sequence[str] = ()


def square_view(words: SquareWords, *, key: str = "square") -> str:
    """Return a wheel that leans in, a square on the floor beside it, both gaps to its rim."""
    rim_x = [_rim_lip(way)[0] for way in (-1, 1)]
    blade_x = _bulge_x() + CLEAR
    said, bottom = ink.notes(FLOOR_Y + 28, words.notes)
    parts = [
        *_floor(),
        ink.tube((ink.EDGE + 2, HUB[1]), HUB, wide=12),
        ink.group(_cut_wheel(key), "wheel", turn=ink.rotation(-LEAN_DEG, HUB)),
        *_square(blade_x, words),
        *_gap(rim_x[0], blade_x, _rim_lip(-1)[1], words.top),
        *_gap(rim_x[1], blade_x, _rim_lip(1)[1], words.bottom),
        *_height(blade_x, words.between),
        *_names(words),
    ]
    return ink.svg(
        [ink.hatching(key), *parts, *said],
        height=bottom - ink.LEADING / 2,
        title=words.title,
        told=words.told,
        key=key,
    )


def _rim_lip(way):
    """Return the outer edge of the rim, at its top (-1) or its bottom (+1)."""
    at = HUB[0] + RIM_WIDE / 2, HUB[1] + way * (RIM_HIGH / 2 - LIP / 2)
    return ink.turned(at, -LEAN_DEG, HUB)


def _bulge_x():
    """Return how far right the tyre reaches: its lower section, which leans out."""
    low = HUB[0] + TYRE_WIDE / 2 - ROUND, HUB[1] + TYRE_HIGH / 2 - ROUND
    return ink.turned(low, -LEAN_DEG, HUB)[0] + ROUND


def _cut_wheel(key):
    """Draw both cuts of the tyre, the rim between them, upright: the caller leans it."""
    for way in (-1, 1):
        middle = HUB[0], HUB[1] + way * (TYRE_HIGH - SECTION_HIGH) / 2
        size = TYRE_WIDE, SECTION_HIGH
        yield ink.box(middle, size, radius=ROUND, width=ink.OUTLINE, fill=ink.hatched(key))
    yield from _rim()
    above, foot = HUB[1] - TYRE_HIGH / 2 - 14, HUB[1] + TYRE_HIGH / 2
    yield ink.line((HUB[0], above), (HUB[0], foot), dash=ink.CENTRE_LINE)


def _rim():
    for way in (-1, 1):
        for side in (-1, 1):
            lip = HUB[0] + side * (RIM_WIDE / 2 - 3), HUB[1] + way * (RIM_HIGH - LIP) / 2
            yield ink.box(lip, (6, LIP), width=0, fill=ink.INK)
        well = HUB[0], HUB[1] + way * (RIM_HIGH / 2 - LIP - 2)
        yield ink.box(well, (RIM_WIDE, 5), width=0, fill=ink.INK)
    yield ink.box((HUB[0] + 8, HUB[1]), (6, RIM_HIGH - 2 * LIP - 8), width=0, fill=ink.INK)


def _floor():
    yield ink.line((ink.EDGE, FLOOR_Y), (ink.WIDTH - ink.EDGE, FLOOR_Y), width=ink.OUTLINE)
    for x in range(ink.EDGE + 12, ink.WIDTH - ink.EDGE, 12):
        yield ink.line((x, FLOOR_Y), (x - 5, FLOOR_Y + 6))


def _square(blade_x, words):
    """Draw the square: its blade upright beside the tyre, its foot along the floor, outward."""
    top_y, out_x = HUB[1] - TYRE_HIGH / 2 - 4, blade_x + FOOT_LONG
    corners = [
        (blade_x, top_y),
        (blade_x + BLADE, top_y),
        (blade_x + BLADE, FLOOR_Y - BLADE),
        (out_x, FLOOR_Y - BLADE),
        (out_x, FLOOR_Y),
        (blade_x, FLOOR_Y),
    ]
    yield ink.shape(corners, width=ink.OUTLINE, name="square")
    yield ink.text((blade_x + BLADE + 8, top_y + 12), words.square, anchor="start")


def _gap(rim_x, blade_x, y, said):
    """Draw a gap from the rim to the square, and on as the line that its height is read from."""
    yield ink.line((blade_x, y), (LABELS_X - 4, y), name="extension")
    yield ink.line((rim_x, y), (blade_x, y), width=3.5, name="gap")
    for x in (rim_x, blade_x):
        yield ink.line((x, y - 6), (x, y + 6), width=1.5)
    yield ink.text((LABELS_X, y + 4.5), said, anchor="start", is_bold=True)


def _height(blade_x, said):
    x = (blade_x + BLADE + LABELS_X) / 2
    top, foot = (x, _rim_lip(-1)[1]), (x, _rim_lip(1)[1])
    yield ink.line(top, foot, name="between")
    yield ink.arrow_head(top, 0)
    yield ink.arrow_head(foot, 180)
    yield ink.text((LABELS_X, (top[1] + foot[1]) / 2 + 4.5), said, anchor="start")


def _names(words):
    yield ink.text((ink.EDGE, HUB[1] + 26), words.cart, anchor="start")
    for said, at, to in (
        (words.tyre, (ink.EDGE, 76), (HUB[0] - 44, 68)),
        (words.rim, (ink.EDGE, HUB[1] - 40), _inner_lip()),
    ):
        end = at[0] + ink.width_of(said) + 2, at[1] - 4
        yield ink.text(at, said, anchor="start")
        yield ink.line(end, to)
        yield ink.circle(to, 1.8, fill=ink.INK)


def _inner_lip():
    at = HUB[0] - RIM_WIDE / 2 + 2, HUB[1] - RIM_HIGH / 2 + LIP / 2
    return ink.turned(at, -LEAN_DEG, HUB)


def tape_view(words: TapeWords, *, key: str = "tape") -> str:
    """Return both front wheels toed in, and the tape before and behind the axle."""
    said, bottom = ink.notes(AXLE_Y + TREAD_LONG / 2 + 38, words.notes)
    wheels = [_wheel(side) for side in (-1, 1)]
    parts = [
        *_front(words),
        ink.tube(_hub(-1), _hub(1), wide=12),
        *(one for drawn in wheels for one in drawn),
        *_tape(-1, words.front_tape),
        *_tape(1, words.rear_tape),
    ]
    return ink.svg(
        [*parts, *said],
        height=bottom - ink.LEADING / 2,
        title=words.title,
        told=words.told,
        key=key,
    )


def _hub(side):
    return ink.WIDTH / 2 + side * HALF_TRACK, AXLE_Y


def _wheel(side):
    """Draw a tyre from above with the line scribed around it, its front turned inward."""
    x, y = _hub(side)
    half = TREAD_LONG / 2
    tyre = ink.box((x, y), (TREAD_WIDE, TREAD_LONG), radius=14, width=ink.OUTLINE)
    scribed = ink.line((x, y - half), (x, y + half), dash=ink.HIDDEN, name="scribed")
    yield ink.group([tyre, scribed], "wheel", turn=ink.rotation(-side * TOE_DEG, (x, y)))


def _end(side, way):
    """Return the scribed line's end at a wheel's front (-1) or rear (+1), at hub height."""
    x, y = _hub(side)
    return ink.turned((x, y + way * TREAD_LONG / 2), -side * TOE_DEG, (x, y))


def _tape(way, said):
    left, right = _end(-1, way), _end(1, way)
    yield ink.line(left, right, width=3, name="tape")
    for at in (left, right):
        yield ink.line((at[0], at[1] - MARK), (at[0], at[1] + MARK), width=2)
    y = left[1] + (20 if way < 0 else -10)
    yield ink.text((ink.WIDTH / 2, y), said, is_bold=True)


def _front(words):
    tip = ink.WIDTH / 2, 10
    yield ink.line(tip, (tip[0], 36), width=ink.OUTLINE)
    yield ink.arrow_head(tip, 0, long=12)
    yield ink.text((tip[0] + 12, 26), words.front, anchor="start")
