"""The front axle seen from above, to scale, its wheels turned by their toe, as SVG text. Pure.

The cart's front is up and its left at the left. Plus toe has the fronts of the wheels closer;
each wheel is drawn with half of it. Words come from the caller.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import asin, degrees

from alignment import ink
from alignment.front_drawing import (
    ELSE_TRACK_MM,
    ELSE_TYRE_MM,
    TYRE_WIDTH_MM,
    fitting_times,
)
from alignment.ink import Point

ELSE_ARM_MM = 114.0  # where none is recorded
# not recorded: how far inward of a wheel's middle its king pin sits, and the arm's end
PIN_MM, ARM_AHEAD_MM, ARM_BEHIND_MM = 142.0, 128.0, 156.0
MOST_HIGH = 210  # px of the longer tyre
TOP_ROOM = 74  # above the tyres: names, the arrow, the tape's words
BEYOND_TYRE, ARC_BEYOND = 24, 15
SIDES = ((-1, "left"), (1, "right"))


@dataclass(frozen=True)
class Words:
    """What the drawing says. ``drawn`` words how many times its angles are enlarged.

    ``front_tape`` and ``rear_tape`` are the distances as read, ``toe`` what they amount to.
    """

    title: str
    told: str
    left: str
    right: str
    front: str
    not_measured: str
    drawn: Callable[[int], str]
    front_tape: str = ""
    rear_tape: str = ""
    toe: str = ""
    rod: str = ""
    notes: Sequence[str] = ()


@dataclass(frozen=True)
class Scene:
    """The sizes of one drawing, the half of the toe as drawn, and how the rods run."""

    px_per_mm: float
    axle_y: float
    track_mm: float
    tyre_mm: float
    half_deg: float
    is_measured: bool
    arm_mm: float
    is_ahead: bool | None
    is_across: bool

    def hub(self, side: int) -> Point:
        return ink.WIDTH / 2 + side * self.track_mm / 2 * self.px_per_mm, self.axle_y

    def turn_deg(self, side: int) -> float:
        """Return by how much a wheel is drawn turned, -1 for the left one; plus clockwise."""
        return -side * self.half_deg

    def on_wheel(self, side: int, inward_mm: float, forward_mm: float) -> Point:
        """Return a point that turns with a wheel."""
        x, y = self.hub(side)
        place = x - side * inward_mm * self.px_per_mm, y - forward_mm * self.px_per_mm
        return ink.turned(place, self.turn_deg(side), (x, y))


def half_toe_deg(toe_mm: float, tyre_mm: float) -> float:
    """Return by how much each wheel turns in for a total toe at that diameter: asin(t / 2D)."""
    return degrees(asin(max(-1.0, min(1.0, toe_mm / (2 * tyre_mm)))))


def top_view(
    toe_mm: float | None,
    *,
    words: Words,
    track_mm: float | None = None,
    tyre_mm: float | None = None,
    times: int = 1,
    is_ahead: bool | None = None,
    is_across: bool = False,
    arm_mm: float | None = None,
    key: str = "top",
) -> str:
    """Return an SVG of both front wheels with their total toe in mm, plus for toe-in.

    ``times`` enlarges the angle, as far as it fits. ``is_ahead``: the steering arms point
    ahead of the axle; None draws no rods. ``is_across``: one rod joins both wheels.
    """
    diameter_mm = tyre_mm or ELSE_TYRE_MM
    half_deg = half_toe_deg(toe_mm or 0.0, diameter_mm)
    times = fitting_times([half_deg], times)
    scene = _scene(
        track_mm or ELSE_TRACK_MM,
        diameter_mm,
        half_deg=half_deg * times,
        is_measured=toe_mm is not None,
        arm_mm=arm_mm or ELSE_ARM_MM,
        is_ahead=is_ahead,
        is_across=is_across,
    )
    tapes, bottom = _tapes(scene, words)
    drawn = [words.drawn(times)] if scene.is_measured else []
    said, bottom = ink.notes(bottom + 8, [*drawn, *words.notes])
    parts = [*_chassis(scene), *_steering(scene, words)]
    for side, name in SIDES:
        parts += _wheel(scene, side, name, words)
    return ink.svg(
        [*parts, *tapes, _ahead(words), *said],
        height=bottom - ink.LEADING / 2,
        title=words.title,
        told=words.told,
        key=key,
    )


def _scene(track_mm, tyre_mm, *, half_deg, **rest):
    ends = [(TYRE_WIDTH_MM / 2 * way, tyre_mm / 2) for way in (-1, 1)]
    corners = [ink.turned(end, half_deg, (0, 0)) for end in ends]
    wide_mm, long_mm = (max(abs(corner[i]) for corner in corners) for i in (0, 1))
    room = ink.WIDTH / 2 - ink.EDGE - 2
    px_per_mm = min(room / (track_mm / 2 + wide_mm), MOST_HIGH / tyre_mm)
    axle_y = TOP_ROOM + long_mm * px_per_mm
    return Scene(px_per_mm, axle_y, track_mm, tyre_mm, half_deg, **rest)


def _wheel(scene, side, name, words):
    hub = scene.hub(side)
    wide, long = TYRE_WIDTH_MM * scene.px_per_mm, scene.tyre_mm * scene.px_per_mm
    dash = "" if scene.is_measured else ink.HIDDEN
    tyre = ink.box(hub, (wide, long), radius=wide * 0.28, width=ink.OUTLINE, dash=dash)
    turn = ink.rotation(scene.turn_deg(side), hub)
    yield ink.group([tyre, *_tread(hub, wide, long, dash)], f"wheel {name}", turn=turn)
    if scene.is_measured:
        yield from _angle(scene, side)
    yield ink.text((hub[0], 17), getattr(words, name), is_bold=True)


def _tread(hub, wide, long, dash):
    for share in (-0.3, 0.3):
        x, half = hub[0] + share * wide, long / 2 - wide * 0.16
        yield ink.line((x, hub[1] - half), (x, hub[1] + half), dash=dash)


def _angle(scene, side):
    """Draw straight ahead, the wheel's centre line, and the arc between them."""
    hub, turn_deg = scene.hub(side), scene.turn_deg(side)
    reach = scene.tyre_mm / 2 * scene.px_per_mm
    far = reach + BEYOND_TYRE
    yield ink.line(hub, ink.spoke(hub, far, 0), name="ahead")
    centre = [ink.spoke(hub, far, turn_deg), ink.spoke(hub, reach, turn_deg + 180)]
    yield ink.line(*centre, dash=ink.CENTRE_LINE, name="centre-line")
    yield ink.path(ink.arc(hub, reach + ARC_BEYOND, 0, turn_deg), width=1.5, name="angle")
    yield ink.circle(hub, 2.2, fill=ink.INK)


def _tapes(scene, words):
    """Return the tape at the tyres' front and rear edge with its words, and the y below."""
    half_mm = scene.tyre_mm / 2
    front, rear = (
        [scene.on_wheel(side, 0, way * half_mm) for side, _name in SIDES] for way in (1, -1)
    )
    below = rear[0][1] + 18
    said = [(front[0][1] - 8, words.front_tape), (below, words.rear_tape)]
    toe, drawn = words.not_measured, []
    if scene.is_measured:
        toe = words.toe
        drawn += [*_tape(front, "tape front"), *_tape(rear, "tape rear")]
        drawn += [ink.text((ink.WIDTH / 2, y), one) for y, one in said if one]
    drawn.append(ink.text((ink.WIDTH / 2, below + 24), toe, is_bold=True))
    return drawn, below + 24 + ink.LEADING - 6


def _tape(ends, name):
    yield ink.line(*ends, width=1.2, name=name)
    yield ink.arrow_head(ends[0], -90)
    yield ink.arrow_head(ends[1], 90)


def _ahead(words):
    """Return the arrow to the front with its word."""
    x, wide = ink.WIDTH / 2, ink.width_of(words.front, is_bold=True)
    middle = ink.inside(x + 9, wide + 18)
    word = ink.text((middle, 17), words.front, is_bold=True)
    arrow_x = middle - wide / 2 - 10
    shaft = ink.line((arrow_x, 20), (arrow_x, 8), width=ink.OUTLINE)
    return ink.group([word, shaft, ink.arrow_head((arrow_x, 3), 0)], "front")


def _rail_x(scene, side):
    return ink.WIDTH / 2 + side * scene.track_mm * 0.15 * scene.px_per_mm


def _chassis(scene):
    """Draw the frame rails, and on each side a forked arm to the knuckle."""
    high = scene.tyre_mm * 0.84 * scene.px_per_mm
    fork = scene.tyre_mm * 0.17 * scene.px_per_mm
    for side, _name in SIDES:
        pin = scene.on_wheel(side, PIN_MM, 0)
        yield ink.tube(pin, scene.hub(side), wide=12)
        for way in (-1, 1):
            yield ink.tube((_rail_x(scene, side), scene.axle_y + way * fork), pin, wide=6)
    for way in (-1, 1):
        yield ink.box((ink.WIDTH / 2, scene.axle_y + way * fork), (2 * _half_frame(scene), 8))
    for side, _name in SIDES:
        yield ink.box((_rail_x(scene, side), scene.axle_y), (9, high), width=1.5)


def _half_frame(scene):
    return scene.track_mm * 0.15 * scene.px_per_mm


def _steering(scene, words):
    """Draw the steering arms ahead of or behind the axle, and their tie rods."""
    if scene.is_ahead is not None:
        way = 1 if scene.is_ahead else -1
        ends = [scene.on_wheel(side, *_arm_end(scene, way)) for side, _name in SIDES]
        yield from _rods(scene, ends)
        for (side, _name), end in zip(SIDES, ends, strict=True):
            yield ink.tube(scene.on_wheel(side, PIN_MM, 0), end, wide=8)
            yield ink.circle(end, 3.5, fill=ink.INK)
        if words.rod:
            yield from _rod_name(scene, ends, words.rod, way)
    for side, _name in SIDES:
        yield ink.circle(scene.on_wheel(side, PIN_MM, 0), 5, width=1.5)


def _arm_end(scene, way):
    inward_mm = ARM_AHEAD_MM if scene.is_ahead else ARM_BEHIND_MM
    return inward_mm, way * min(scene.arm_mm, scene.tyre_mm * 0.38)


def _rods(scene, ends):
    if scene.is_across:
        yield ink.group([ink.tube(*ends, wide=5)], "rod")
        return
    y = sum(end[1] for end in ends) / 2
    half = _half_frame(scene) * 0.82
    for (side, _name), end in zip(SIDES, ends, strict=True):
        yield ink.group([ink.tube((ink.WIDTH / 2 + side * half, y), end, wide=5)], "rod")
    yield ink.box((ink.WIDTH / 2, y), (2 * half, 12), radius=4, width=1.5)


def _rod_name(scene, ends, words, way):
    """Name the rods in the frame's middle, a leader to each, clear of the rack."""
    y = ends[0][1] - way * 22
    for (side, _name), end in zip(SIDES, ends, strict=True):
        to = ink.between((_rail_x(scene, side), end[1]), end, 0.45)
        start = ink.WIDTH / 2 + side * (ink.width_of(words) / 2 + 3), y - 4
        yield ink.line(start, to) + ink.circle(to, 1.6, fill=ink.INK)
    yield ink.text((ink.WIDTH / 2, y), words)
