"""The part to turn from its side and its end: a tie rod or a camber sleeve, as SVG text. Pure.

Its outer end points right; the hexagon is seen from there. advice.clockwise says which way
it turns; turned clockwise, its near face moves up. Without the end of its right-hand thread
told, a part with two threads has neither arrow nor flats. Words come from the caller.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians, sin

from alignment import ink
from alignment.advice import AT_MIDDLE, AT_WHEEL, clockwise
from alignment.ink import Point

AXIS_Y = 66  # the part's own line
BALL_X, SHANK_X, THREAD = 318, 282, 11  # ball, where its shank begins, a thread's thickness
BAR, NUT, NUT_HIGH = 17, 12, 26
FLAT_DEG, A_TURN = 60, 6
HEX_MIDDLE: Point = (84, 236)
HEX_RADIUS, COUNT_RADIUS, HALF_COUNT_RADIUS = 50, 30, 35
ARROW_RADIUS, RING_APART = 62, 9
RING = (10, 29)  # half the width and height of the arrow around the part
SAID_X = 172  # words beside the hexagon
LEAST_BOTTOM = 322
RIGHT, LEFT, UNTOLD = "right-hand", "left-hand", "untold"
LEAN = {RIGHT: 1.6, LEFT: -1.6, UNTOLD: 0}


@dataclass(frozen=True)
class Words:
    """What the drawing says.

    ``turn`` is what to do ("4 flats longer"), ``whole_turns`` those of it that are full
    ("1 turn and"), ``seen_from`` from where the hexagon is seen. Threads and nuts are named
    where a word is given, ``thread`` the right-hand one, ``other_thread`` the left-hand one.
    """

    title: str
    told: str
    longer: str
    shorter: str
    turn: str
    seen_from: str
    whole_turns: str = ""
    thread: str = ""
    other_thread: str = ""
    jam_nut: str = ""
    notes: Sequence[str] = ()


@dataclass(frozen=True)
class Ends:
    """The hand of the thread at each end: RIGHT, LEFT, UNTOLD, or None for no thread."""

    outer: str | None
    inner: str | None


def rod_drawing(
    flats: float | None,
    *,
    is_double: bool,
    words: Words,
    right_hand: str = AT_WHEEL,
    key: str = "rod",
) -> str:
    """Return an SVG of a tie rod with its ball end, and the flats to turn it, plus for longer.

    ``is_double``: a left- and a right-hand thread, each with a jam nut. ``right_hand`` is the
    end of the right-hand one, "wheel" at the right or "middle"; empty where it is not told.
    """
    ends = _ends(is_double, right_hand)
    parts = [_torn(226)] if ends.inner is None else [*_inner_end(52, 104, ends), _bar(104, 226)]
    parts += [*_spanner_flats(172, 214), *_outer_end(226, SHANK_X - NUT / 2, ends), *_ball_end()]
    at = Places(nuts=(SHANK_X - NUT / 2, 58), threads=(248, 84), ring_x=138)
    return _drawing(
        parts, flats, words, spin=clockwise(flats or 0, right_hand), ends=ends, at=at, key=key
    )


def sleeve_drawing(
    flats: float | None,
    *,
    is_double: bool,
    words: Words,
    right_hand: str = AT_WHEEL,
    key: str = "sleeve",
) -> str:
    """Return an SVG of a camber sleeve between its arm and its ball joint, all as for a rod."""
    ends = _ends(is_double, right_hand)
    parts = [_torn(100)] if ends.inner is None else [*_inner_end(50, 100, ends, nut_x=100)]
    parts += [*_outer_end(204, 204 + NUT / 2, ends), *_sleeve(100, 204), *_ball_end()]
    at = Places(nuts=(204 + NUT / 2, 100 - NUT / 2), threads=(252, 70), ring_x=152)
    return _drawing(
        parts, flats, words, spin=clockwise(flats or 0, right_hand), ends=ends, at=at, key=key
    )


def _ends(is_double, right_hand):
    if not is_double:
        return Ends(None, RIGHT) if right_hand == AT_MIDDLE else Ends(RIGHT, None)
    hands = {AT_WHEEL: (RIGHT, LEFT), AT_MIDDLE: (LEFT, RIGHT)}
    return Ends(*hands.get(right_hand, (UNTOLD, UNTOLD)))


@dataclass(frozen=True)
class Places:
    """Where nuts and threads of the outer and the inner end are, and the arrow around."""

    nuts: tuple[float, float]
    threads: tuple[float, float]
    ring_x: float


def _drawing(parts, flats, words, *, spin, ends, at, key):
    way = (flats > 0) - (flats < 0) if flats else 0
    drawn = [ink.hatching(key), ink.group(parts, "part")]
    drawn += [*_names(words, ends, at), *_ring(spin, at.ring_x)]
    drawn += [*_lengthways(way, at.ring_x, words), *_hexagon(abs(flats or 0), spin, key)]
    said, y = _beside(words)
    under, bottom = ink.notes(max(y + ink.LEADING, LEAST_BOTTOM), words.notes)
    return ink.svg(
        [*drawn, *said, *under],
        height=bottom - ink.LEADING / 2,
        title=words.title,
        told=words.told,
        key=key,
    )


def _bar(start_x, end_x, high=BAR):
    middle = (start_x + end_x) / 2, AXIS_Y
    return ink.box(middle, (end_x - start_x, high), radius=2, width=1.5)


def _spanner_flats(start_x, end_x):
    """Draw the hexagon forged on a rod for the spanner."""
    yield ink.box(
        ((start_x + end_x) / 2, AXIS_Y), (end_x - start_x, BAR + 6), radius=3, width=ink.OUTLINE
    )
    for y in (-6, 6):
        yield ink.line((start_x + 1, AXIS_Y + y), (end_x - 1, AXIS_Y + y))


def _sleeve(start_x, end_x):
    middle = (start_x + end_x) / 2, AXIS_Y
    yield ink.box(middle, (end_x - start_x, 30), radius=3, width=ink.OUTLINE)
    for y in (-7.5, 7.5):
        yield ink.line((start_x + 1, AXIS_Y + y), (end_x - 1, AXIS_Y + y))


def _thread(start_x, end_x, hand):
    """Draw a thread; the near side of a right-hand one falls to the right."""
    half, lean = THREAD / 2, LEAN[hand]
    yield ink.box(((start_x + end_x) / 2, AXIS_Y), (end_x - start_x, THREAD), width=1.2)
    name = f"thread {hand}"
    turns = int((end_x - start_x - 4) / 4)
    for x in (start_x + 4 + 4 * turn for turn in range(turns)):
        yield ink.line((x - lean, AXIS_Y - half), (x + lean, AXIS_Y + half), name=name)


def _jam_nut(middle_x):
    yield ink.box((middle_x, AXIS_Y), (NUT, NUT_HIGH), radius=2, width=1.8)
    for y in (-6.5, 6.5):
        yield ink.line((middle_x - NUT / 2, AXIS_Y + y), (middle_x + NUT / 2, AXIS_Y + y))


def _ball_end():
    """Draw the shank, the ball's housing, its boot, the tapered stud with thread and nut."""
    x, y = BALL_X, AXIS_Y
    neck = [(SHANK_X, y - 9), (x - 12, y - 12), (x - 12, y + 12), (SHANK_X, y + 9)]
    yield ink.shape(neck, width=1.5)
    stud = [(x - 7, y + 24), (x + 7, y + 24), (x + 5, y + 44), (x - 5, y + 44)]
    yield ink.shape(stud, width=1.5)
    yield ink.box((x, y + 52), (9, 16), width=1.2)
    for turn in range(4):
        yield ink.line((x - 4.5, y + 47 + 3.5 * turn), (x + 4.5, y + 48.5 + 3.5 * turn))
    boot = [(x - 14, y + 12), (x + 14, y + 12), (x + 8, y + 26), (x - 8, y + 26)]
    yield ink.shape(boot, width=1.5)
    yield ink.line((x - 11, y + 19), (x + 11, y + 19))
    yield ink.circle((x, y), 18, width=ink.OUTLINE)
    yield ink.path(ink.arc((x, y), 12, -70, 70))


def _outer_end(body_x, nut_x, ends):
    """Draw the thread and the jam nut at the ball end, or a bar that goes on into it."""
    if ends.outer is None:
        yield _bar(body_x, SHANK_X)
    else:
        yield from _thread(body_x, SHANK_X, ends.outer)
        yield from _jam_nut(nut_x)


def _inner_end(end_x, body_x, ends, *, nut_x=64):
    """Draw the thread and the jam nut at the cart's middle, and what they screw into."""
    yield from _thread(end_x, body_x, ends.inner)
    yield from _jam_nut(nut_x - NUT / 2)
    yield _torn(end_x)


def _torn(end_x):
    """Draw a bar that goes on to the left, broken off."""
    half = BAR / 2
    torn = [(20 + (4 if step % 2 else -2), AXIS_Y + half - BAR / 4 * step) for step in range(5)]
    return ink.shape([(end_x, AXIS_Y - half), (end_x, AXIS_Y + half), *torn], width=1.5)


def _names(words, ends, at):
    hands = (ends.outer, ends.inner)
    for hand, x, name_at in zip(hands, at.threads, ((ink.WIDTH, "end"), (0, "start")), strict=True):
        said = {RIGHT: words.thread, LEFT: words.other_thread}.get(hand)
        if said:
            yield _named(said, (name_at[0], 17), (x, AXIS_Y - THREAD / 2), name_at[1])
    nuts = [x for hand, x in zip(hands, at.nuts, strict=True) if hand and words.jam_nut]
    for x in nuts:
        yield _named(words.jam_nut, (x, AXIS_Y + 50), (x, AXIS_Y + NUT_HIGH / 2 - 3), "middle")


def _named(words, at, to, anchor):
    """Return words with a leader that ends in a dot on what they name."""
    start_y = at[1] + 5 if at[1] < to[1] else at[1] - 12
    return (
        ink.line((to[0], start_y), to)
        + ink.circle(to, 1.6, fill=ink.INK)
        + ink.text(at, words, anchor=anchor)
    )


def _ring(spin, x):
    """Draw the arrow around the part: its near half over it, its far half behind."""
    if not spin:
        return
    start, end = (_on_ring(x, deg) for deg in ((180, 38) if spin > 0 else (0, 142)))
    round_way = f"A{RING[0]} {RING[1]} 0 0"
    far = [_on_ring(x, deg) for deg in (0, 180)]
    yield ink.path(f"M{_at(far[0])}{round_way} 1 {_at(far[1])}", width=1.5, dash="3 3", name="far")
    yield ink.path(
        f"M{_at(start)}{round_way} {int(spin > 0)} {_at(end)}", width=ink.OUTLINE, name="near"
    )
    yield ink.arrow_head(_on_ring(x, 12 if spin > 0 else 168), 32 if spin > 0 else 148, long=11)


def _on_ring(x, deg):
    """Return a point of the near half, ``deg`` from the top."""
    return x - RING[0] * sin(radians(deg)), AXIS_Y - RING[1] * cos(radians(deg))


def _at(point):
    return f"{point[0]:.1f} {point[1]:.1f}"


def _lengthways(way, x, words):
    """Write longer between arrows pointing apart, or shorter between arrows pointing together."""
    if not way:
        return
    said, y = (words.longer if way > 0 else words.shorter), AXIS_Y + 74
    half = ink.width_of(said, is_bold=True) / 2 + 8
    yield ink.text((x, y), said, is_bold=True)
    for side in (-1, 1):
        near, far = (x + side * half, y - 4.5), (x + side * (half + 34), y - 4.5)
        yield ink.line(near, far, width=1.5)
        tip = far if way > 0 else near
        yield ink.arrow_head(tip, 90 * side * way)


def _hexagon(flats, spin, key):
    """Draw the part from its end, the flats that pass the mark hatched and counted."""
    whole, rest = divmod(flats if spin else 0, A_TURN)
    if whole and not rest:
        whole, rest = whole - 1, A_TURN
    corners = [ink.spoke(HEX_MIDDLE, HEX_RADIUS, FLAT_DEG * i) for i in range(6)]
    yield ink.shape(corners, width=ink.OUTLINE)
    passed = list(_passed(rest))
    for number, share in passed:
        yield _flat(number, share, spin, key)
    for corner in corners:
        yield ink.line(HEX_MIDDLE, corner)
    yield ink.shape(corners, width=ink.OUTLINE, fill="none")
    for number, share in passed:
        yield _count(number, share, spin)
    yield ink.circle(HEX_MIDDLE, 13, width=1.5)
    yield ink.line(*(ink.spoke(HEX_MIDDLE, HEX_RADIUS + far, 0) for far in (-4, 6)), width=4)
    yield from _arrow_round(whole, rest, spin)


def _passed(flats):
    number = 0
    while flats > 1e-6:
        number += 1
        yield number, min(1.0, flats)
        flats -= 1


def _flat(number, share, spin, key):
    start, end = (
        ink.spoke(HEX_MIDDLE, HEX_RADIUS, spin * FLAT_DEG * i) for i in (number - 1, number)
    )
    corners = [HEX_MIDDLE, start, ink.between(start, end, share)]
    return ink.shape(corners, fill=ink.hatched(key), name="flat")


def _count(number, share, spin):
    far = COUNT_RADIUS if share > 0.99 else HALF_COUNT_RADIUS
    x, y = ink.spoke(HEX_MIDDLE, far, spin * FLAT_DEG * (number - 1 + share / 2))
    words = str(number) if share > 0.99 else "½" if abs(share - 0.5) < 0.01 else ""
    return ink.text((x, y + 4.5), words, is_bold=True) if words else ""


def _arrow_round(whole, rest, spin):
    if not rest:
        return
    radius = ARROW_RADIUS + (RING_APART if whole else 0)
    if whole:
        yield ink.circle(HEX_MIDDLE, ARROW_RADIUS, width=1.5, fill="none")
    end_deg = spin * min(rest * FLAT_DEG, 352)
    yield ink.path(ink.arc(HEX_MIDDLE, radius, 0, end_deg), width=ink.OUTLINE, name="turn")
    tip = ink.spoke(HEX_MIDDLE, radius, end_deg)
    yield ink.arrow_head(tip, end_deg + spin * 84, long=11)


def _beside(words):
    """Return what to do and from where it is seen, beside the hexagon, and the y below."""
    y, drawn = HEX_MIDDLE[1] - 40, []
    for said, is_bold in ((words.whole_turns, True), (words.turn, True), (words.seen_from, False)):
        for one in ink.lines_of(said, (ink.WIDTH - ink.EDGE - SAID_X) * 0.92):
            drawn.append(ink.text((SAID_X, y), one, anchor="start", is_bold=is_bold))
            y += ink.LEADING
        y += 5
    return drawn, y
