"""The front axle seen from the front, to scale, each wheel leaning as measured, as SVG text. Pure.

Seen from the front the cart's left wheel is at the right of the drawing. Minus camber has
the top of a wheel nearer to the middle of the cart. Words come from the caller.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import atan2, cos, degrees, radians, sin, tan

from alignment import ink
from alignment.ink import Point
from alignment.signs import signed_deg

TYRE_WIDTH_MM = 215.0  # assumed: no sheet records it
ELSE_TRACK_MM, ELSE_TYRE_MM = 890.0, 559.0  # where none is recorded
MOST_DRAWN_DEG = 30.0  # an angle drawn larger says nothing more
MOST_HIGH = 230  # px of the higher tyre
NAMES_Y, FIGURES_Y, TOP_ROOM = 17, 36, 44
BEYOND_TYRE, ARC_BEYOND = 24, 15  # px that a centre line and its arc stand over the tyre
FLOOR_DEPTH = 8
BEAM_HIGH = 0.62  # of a tyre above the ground: dropped to the hubs from there


@dataclass(frozen=True)
class Words:
    """What the drawing says. ``drawn`` words how many times its angles are enlarged.

    ``notes`` stand under it: there say the assumed tyre width, and a floor's slope.
    """

    title: str
    told: str
    left: str
    right: str
    not_measured: str
    drawn: Callable[[int], str]
    sleeve: str = ""
    rod: str = ""
    notes: Sequence[str] = ()


def fitting_times(angles_deg: Sequence[float | None], times: int) -> int:
    """Return ``times``, or fewer where an angle would be drawn beyond MOST_DRAWN_DEG."""
    widest = max((abs(deg) for deg in angles_deg if deg), default=0.0)
    if widest * times <= MOST_DRAWN_DEG:
        return times
    return max(1, int(MOST_DRAWN_DEG / widest))


@dataclass(frozen=True)
class Scene:
    """The sizes of one drawing: px a mm, the ground's y, both wheels."""

    px_per_mm: float
    ground_y: float
    track_mm: float
    tyre_mm: float

    def at(self, side: int, from_middle_mm: float, above_ground_mm: float) -> Point:
        """Return a point on a side: +1 the cart's left, at the right of the drawing."""
        x = ink.WIDTH / 2 + side * from_middle_mm * self.px_per_mm
        return x, self.ground_y - above_ground_mm * self.px_per_mm


@dataclass(frozen=True)
class Wheel:
    """One wheel: +1 for the cart's left, its camber or None, what is drawn of it."""

    side: int
    camber_deg: float | None
    drawn_deg: float
    name: str

    @property
    def turn_deg(self) -> float:
        return self.side * self.drawn_deg


def front_view(
    left_deg: float | None,
    right_deg: float | None,
    *,
    words: Words,
    track_mm: float | None = None,
    tyre_mm: float | None = None,
    times: int = 1,
    has_sleeve: bool = True,
    is_across: bool = False,
    floor: tuple[float, float, str] | None = None,
    key: str = "front",
) -> str:
    """Return an SVG of both front wheels with their camber in degrees, minus for top leaning in.

    ``times`` enlarges all angles, as far as they fit; ``floor`` is (fall_mm, over_mm, low
    side), drawn under wheels that stand level on plates. A wheel without camber is dashed.
    ``is_across``: one tie rod joins both wheels; without camber sleeves their axle is a beam.
    """
    slope_deg = degrees(atan2(floor[0], floor[1])) if floor else 0.0
    times = fitting_times([left_deg, right_deg, slope_deg], times)
    wheels = [
        Wheel(side, deg, (deg or 0.0) * times, name)
        for side, deg, name in ((1, left_deg, "left"), (-1, right_deg, "right"))
    ]
    scene = _scene(wheels, track_mm or ELSE_TRACK_MM, tyre_mm or ELSE_TYRE_MM)
    parts = [*_axle(scene, wheels, words, has_sleeve=has_sleeve, is_across=is_across)]
    for wheel in wheels:
        parts += _wheel(scene, wheel, words)
    low_side = (1 if floor[2] == "left" else -1) if floor else 1
    drawn_floor, bottom = _floor(scene, slope_deg * times, low_side)
    is_measured = floor or any(wheel.camber_deg is not None for wheel in wheels)
    drawn = [words.drawn(times)] if is_measured else []
    said, bottom = ink.notes(bottom + ink.LEADING, [*drawn, *words.notes])
    return ink.svg(
        [*drawn_floor, *parts, *said],
        height=bottom - ink.LEADING / 2,
        title=words.title,
        told=words.told,
        key=key,
    )


def _scene(wheels, track_mm, tyre_mm):
    half_mm = max(_half_mm(90 - abs(wheel.drawn_deg), tyre_mm) for wheel in wheels)
    px_per_mm = min((ink.WIDTH / 2 - ink.EDGE - 2) / (track_mm / 2 + half_mm), MOST_HIGH / tyre_mm)
    high_mm = max(_half_mm(wheel.drawn_deg, tyre_mm) for wheel in wheels) + tyre_mm / 2
    return Scene(px_per_mm, TOP_ROOM + BEYOND_TYRE + high_mm * px_per_mm, track_mm, tyre_mm)


def _shoulder_mm(tyre_mm):
    return min(TYRE_WIDTH_MM * 0.28, tyre_mm * 0.2)


def _half_mm(deg, tyre_mm):
    """Return how far a tyre with round shoulders reaches down when it leans by ``deg``."""
    round_mm = _shoulder_mm(tyre_mm)
    upright, across = abs(cos(radians(deg))), abs(sin(radians(deg)))
    return (tyre_mm / 2 - round_mm) * upright + (TYRE_WIDTH_MM / 2 - round_mm) * across + round_mm


def _hub(scene, wheel):
    above_mm = _half_mm(wheel.drawn_deg, scene.tyre_mm)
    return scene.at(wheel.side, scene.track_mm / 2, above_mm)


def _wheel(scene, wheel, words):
    hub = _hub(scene, wheel)
    is_measured = wheel.camber_deg is not None
    yield ink.group(
        _tyre(scene, hub, is_measured),
        f"wheel {wheel.name}",
        turn=ink.rotation(wheel.turn_deg, hub),
    )
    reach = scene.tyre_mm / 2 * scene.px_per_mm
    if is_measured:
        yield from _angle(wheel, hub, reach, scene.ground_y)
    figure = signed_deg(wheel.camber_deg) if is_measured else words.not_measured
    yield ink.text((hub[0], NAMES_Y), getattr(words, wheel.name), is_bold=True)
    yield ink.text((hub[0], FIGURES_Y), figure)


def _tyre(scene, hub, is_measured):
    wide, high = TYRE_WIDTH_MM * scene.px_per_mm, scene.tyre_mm * scene.px_per_mm
    dash = "" if is_measured else ink.HIDDEN
    radius = _shoulder_mm(scene.tyre_mm) * scene.px_per_mm
    yield ink.box(hub, (wide, high), radius=radius, width=ink.OUTLINE, dash=dash)
    for share in (-0.3, 0.3):
        x, half = hub[0] + share * wide, high / 2 - radius * 0.55
        yield ink.line((x, hub[1] - half), (x, hub[1] + half), dash=dash)


def _angle(wheel, hub, reach, ground_y):
    """Draw the plumb line, the wheel's centre line, and the arc between them."""
    far = reach + BEYOND_TYRE
    yield ink.line((hub[0], hub[1] - far), (hub[0], ground_y), name="plumb")
    ends = [ink.spoke(hub, far, wheel.turn_deg + half_turn) for half_turn in (0, 180)]
    ends[1] = ink.between(hub, ends[1], reach / far)
    yield ink.line(*ends, dash=ink.CENTRE_LINE, name="centre-line")
    arc = ink.arc(hub, reach + ARC_BEYOND, 0, wheel.turn_deg)
    yield ink.path(arc, width=1.5, name="angle")
    yield ink.circle(hub, 2.2, fill=ink.INK)


def _axle(scene, wheels, words, *, has_sleeve, is_across):
    frame_mm = scene.track_mm * 0.15
    if is_across and not has_sleeve:
        yield from _beam_axle(scene, wheels, frame_mm, words)
        return
    for wheel in wheels:
        yield from _corner(scene, wheel, frame_mm, has_sleeve)
        if not is_across:
            yield ink.tube(_inner(scene, wheel, frame_mm)[1], _joints(scene, wheel)[1], wide=4)
    yield from _frame(scene, frame_mm)
    if is_across:
        yield ink.tube(*(_joints(scene, wheel)[1] for wheel in wheels), wide=5)
    else:
        yield _rack(scene, frame_mm)
    for wheel in wheels:
        yield ink.circle(_joints(scene, wheel)[1], 3, fill=ink.INK)
    yield from _part_names(
        scene, wheels, frame_mm, words, has_sleeve=has_sleeve, is_across=is_across
    )


def _beam_axle(scene, wheels, frame_mm, words):
    """Draw a drop axle: a beam under leaf springs, a king-pin at each end, one tie rod."""
    arms = [_by_knuckle(scene, wheel, -0.09) for wheel in wheels]
    for wheel, arm in zip(wheels, arms, strict=True):
        pin = _by_knuckle(scene, wheel, 0)
        yield ink.tube(pin, arm, wide=6)
        yield ink.tube(pin, _hub(scene, wheel), wide=11)
    yield from _springs(scene, frame_mm)
    yield ink.group([_beam(scene, wheels, frame_mm)], "beam")
    for wheel in wheels:
        yield _king_pin(scene, wheel)
    yield ink.tube(*arms, wide=5)
    for arm in arms:
        yield ink.circle(arm, 3, fill=ink.INK)
    if words.rod:
        below_y = scene.at(1, 0, scene.tyre_mm * 0.08)[1]
        for wheel, share in zip(wheels, (0.15, 0.85), strict=True):
            rod = ink.between(*arms, share)
            yield _leader(wheel.side, words.rod, below_y - 4, (rod[0], rod[1] + 3))
        yield ink.text((ink.WIDTH / 2, below_y), words.rod)


def _by_knuckle(scene, wheel, above_hub):
    """Return the point on the king-pin's line, so many tyres above the hub, leaning with it."""
    hub = _hub(scene, wheel)
    in_px = wheel.side * (TYRE_WIDTH_MM / 2 + 22) * scene.px_per_mm
    place = hub[0] - in_px, hub[1] - scene.tyre_mm * above_hub * scene.px_per_mm
    return ink.turned(place, wheel.turn_deg, hub)


def _beam(scene, wheels, frame_mm):
    """Draw the beam: high under the springs, dropped to the king-pins."""
    left, right = (_by_knuckle(scene, wheel, 0.02) for wheel in wheels)
    high_mm = scene.tyre_mm * BEAM_HIGH
    bends = [scene.at(side, frame_mm * 1.45, high_mm) for side in (1, -1)]
    return ink.tube(left, *bends, right, wide=13)


def _king_pin(scene, wheel):
    middle = _by_knuckle(scene, wheel, 0)
    long = scene.tyre_mm * 0.26 * scene.px_per_mm
    caps = [
        ink.box((middle[0], middle[1] + way * long / 2), (14, 4), fill=ink.INK, width=0)
        for way in (-1, 1)
    ]
    body = ink.box(middle, (9, long), width=1.5)
    return ink.group([body, *caps], "king-pin", turn=ink.rotation(wheel.turn_deg, middle))


def _springs(scene, frame_mm):
    """Draw the frame's rails over the leaf springs, seen from their ends, on the beam."""
    seat_y = scene.at(1, 0, scene.tyre_mm * BEAM_HIGH)[1] - 6
    rail_y = scene.at(1, 0, scene.tyre_mm * 0.86)[1]
    for side in (-1, 1):
        x = scene.at(side, frame_mm, 0)[0]
        leaves = [ink.box((x, seat_y - 3 - 5 * place), (20, 5)) for place in range(3)]
        hanger = ink.tube((x, seat_y - 15), (x, rail_y), wide=6)
        yield ink.group([hanger, *leaves, ink.box((x, rail_y), (18, 18), width=1.5)], "spring")
    yield ink.box(scene.at(1, 0, scene.tyre_mm * 0.86), (2 * frame_mm * scene.px_per_mm - 18, 7))


def _joints(scene, wheel):
    """Return where the upper arm, the tie rod and the lower arm meet the knuckle."""
    hub = _hub(scene, wheel)
    in_px = wheel.side * (TYRE_WIDTH_MM / 2 + 22) * scene.px_per_mm
    up_px = scene.tyre_mm * 0.22 * scene.px_per_mm
    places = [(hub[0] - in_px, hub[1] - up_px * share) for share in (1, 0.1, -1)]
    return [ink.turned(place, wheel.turn_deg, hub) for place in places]


def _inner(scene, wheel, frame_mm):
    level_mm = scene.tyre_mm / 2
    return [
        scene.at(wheel.side, frame_mm, level_mm + scene.tyre_mm * share)
        for share in (0.17, 0.01, -0.17)
    ]


def _corner(scene, wheel, frame_mm, has_sleeve):
    upper, rod, lower = _joints(scene, wheel)
    inner_upper, _inner_rod, inner_lower = _inner(scene, wheel, frame_mm)
    hub = _hub(scene, wheel)
    yield ink.tube(rod, hub, wide=11)
    yield ink.tube(upper, lower, wide=8)
    yield ink.group([ink.tube(inner_lower, lower, wide=7)], "arm")
    yield ink.group([ink.tube(inner_upper, upper, wide=5)], "arm")
    if has_sleeve:
        yield _sleeve(ink.between(inner_upper, upper, 0.5), inner_upper, upper)
    for joint in (upper, lower):
        yield ink.circle(joint, 4.5, width=1.5)


def _sleeve(middle, start, end):
    """Draw the camber sleeve, thicker than its arm, a jam nut at each end."""
    deg = degrees(atan2(end[1] - start[1], end[0] - start[0]))
    long = min(20.0, ink.apart(start, end) * 0.4)
    x, y = middle
    nuts = [
        ink.box((x + way * (long / 2 + 2.5), y), (3, 11), fill=ink.INK, width=0) for way in (-1, 1)
    ]
    flats = ink.line((x - long / 2, y), (x + long / 2, y))
    body = ink.box(middle, (long, 10), width=1.5)
    return ink.group([body, flats, *nuts], "sleeve", turn=ink.rotation(deg, middle))


def _frame(scene, frame_mm):
    long, high = 2 * frame_mm * scene.px_per_mm, scene.tyre_mm * scene.px_per_mm
    level_mm = scene.tyre_mm / 2
    for share in (0.24, -0.24):
        yield ink.box(scene.at(1, 0, level_mm + scene.tyre_mm * share), (long, 7))
    for side in (-1, 1):
        yield ink.box(scene.at(side, frame_mm, level_mm), (8, high * 0.54), width=1.5)


def _rack(scene, frame_mm):
    middle = scene.at(1, 0, scene.tyre_mm * 0.51)
    return ink.box(middle, (2 * frame_mm * scene.px_per_mm - 4, 12), radius=4, width=1.5)


def _part_names(scene, wheels, frame_mm, words, *, has_sleeve, is_across):
    """Name the sleeves over the frame and the tie rods under it, a leader to each."""
    level_mm, middle = scene.tyre_mm / 2, ink.WIDTH / 2
    above_y = scene.at(1, 0, level_mm + scene.tyre_mm * 0.4)[1]
    below_y = scene.at(1, 0, level_mm - scene.tyre_mm * 0.42)[1]
    for wheel, other in zip(wheels, wheels[::-1], strict=True):
        ends = zip(_inner(scene, wheel, frame_mm), _joints(scene, wheel), strict=True)
        sleeve, rod, _lower = (ink.between(inner, outer, 0.5) for inner, outer in ends)
        if is_across:
            rod = ink.between(_joints(scene, wheel)[1], _joints(scene, other)[1], 0.15)
        if words.sleeve and has_sleeve:
            yield _leader(wheel.side, words.sleeve, above_y, (sleeve[0], sleeve[1] - 7))
        if words.rod:
            yield _leader(wheel.side, words.rod, below_y - 4, (rod[0], rod[1] + 3))
    if words.sleeve and has_sleeve:
        yield ink.text((middle, above_y), words.sleeve)
    if words.rod:
        yield ink.text((middle, below_y), words.rod)


def _leader(side, words, y, to):
    start = ink.WIDTH / 2 + side * (ink.width_of(words) / 2 + 3), y - 4
    return ink.line(start, to) + ink.circle(to, 1.6, fill=ink.INK)


def _floor(scene, slope_deg, low_side):
    """Return the floor, falling to its low side under plates that stand level, and its foot."""
    reach = ink.WIDTH / 2 - ink.EDGE
    touches = scene.track_mm / 2 * scene.px_per_mm + _plate(scene) / 2
    fall = tan(radians(slope_deg)) * low_side

    def on_floor(x):
        return x, scene.ground_y + fall * (x - ink.WIDTH / 2) + abs(fall) * touches

    ends = [on_floor(ink.WIDTH / 2 + way * reach) for way in (-1, 1)]
    drawn = [ink.line(*ends, width=ink.OUTLINE, name="floor")]
    drawn += [_ground_mark(on_floor(x)) for x in range(ink.EDGE + 12, ink.WIDTH - ink.EDGE, 12)]
    if slope_deg:
        drawn += [_level_plate(scene, side, on_floor) for side in (-1, 1)]
    return drawn, max(y for _x, y in ends) + FLOOR_DEPTH


def _plate(scene):
    return TYRE_WIDTH_MM * 1.15 * scene.px_per_mm


def _level_plate(scene, side, on_floor):
    middle_x, half = scene.at(side, scene.track_mm / 2, 0)[0], _plate(scene) / 2
    inner, outer = middle_x - half, middle_x + half
    top = [(inner, scene.ground_y), (outer, scene.ground_y)]
    return ink.shape([*top, on_floor(outer), on_floor(inner)], name="plate")


def _ground_mark(at):
    return ink.line(at, (at[0] - 5, at[1] + FLOOR_DEPTH - 2), name="ground")
