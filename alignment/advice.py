"""What a flat of a tie rod or a camber sleeve does, and how many to turn. Pure.

Signs as in geometry: plus camber = top leans out, plus toe = toe-in. A flat is a sixth of a
turn, plus for longer. A thread at one end moves one pitch a turn, a left- and right-hand
sleeve two. Lengths in mm, angles in degrees.

Small turns: a knuckle whose arm's end is pushed by ``d`` steers by d / arm, and a tyre's
front and rear edges then differ by diameter * d / arm.
"""

from dataclasses import dataclass
from math import atan, ceil, copysign, degrees, isfinite, radians

from alignment.readings import SLEEVE, Turn

FLATS_A_TURN = 6
SAME_STEP = 1e-9  # what floats may be off an exact half
LONGER, SHORTER = "longer", "shorter"
AT_WHEEL, AT_MIDDLE = "wheel", "middle"


@dataclass(frozen=True)
class Rod:
    """A tie rod: its thread, and the steering arm that it holds, ahead of or behind the axle.

    ``is_across``: one rod joins both wheels and a drag link steers them. ``right_hand`` is the
    end with its right-hand thread, "wheel" or "middle"; empty where nobody told.
    """

    pitch_mm: float
    is_double: bool
    arm_mm: float
    is_ahead: bool
    is_across: bool = False
    right_hand: str = ""

    def __post_init__(self):
        _above_zero("pitch_mm", self.pitch_mm)
        _above_zero("arm_mm", self.arm_mm)

    @property
    def mm_a_flat(self) -> float:
        return _mm_a_flat(self.pitch_mm, self.is_double)


@dataclass(frozen=True)
class Sleeve:
    """A threaded sleeve on the upper arm, ``knuckle_mm`` above the lower joint."""

    pitch_mm: float
    is_double: bool
    knuckle_mm: float
    right_hand: str = ""

    def __post_init__(self):
        _above_zero("pitch_mm", self.pitch_mm)
        _above_zero("knuckle_mm", self.knuckle_mm)

    @property
    def mm_a_flat(self) -> float:
        return _mm_a_flat(self.pitch_mm, self.is_double)


@dataclass(frozen=True)
class Steering:
    """What is known of how a cart is adjusted; None for what is not.

    ``rod_height_mm``: the tie rod's end above the lower joint.
    """

    rod: Rod | None = None
    sleeve: Sleeve | None = None
    rod_height_mm: float | None = None


@dataclass(frozen=True)
class Advice:
    """How far to turn: ``flats`` in steps of ``step_flats``, plus longer, and what they give.

    ``exact_flats`` would land on the target; ``predicted`` is the reading after ``flats``.
    """

    exact_flats: float
    flats: float
    predicted: float
    step_flats: float
    lands_inside: bool

    @property
    def way(self) -> str:
        return way(self.flats)


@dataclass(frozen=True)
class Centring:
    """How a steering wheel is centred without touching toe.

    One side's rod longer and the other's shorter by ``flats_a_deg`` for each degree that the
    road wheels are to steer. ``by_drag_link``: one rod across, so neither side says anything.
    """

    longer: str = ""
    shorter: str = ""
    flats_a_deg: float | None = None
    by_drag_link: bool = False


def toe_mm_a_flat(rod: Rod, diameter_mm: float) -> float:
    """Return the change of total toe in mm for one flat longer on each side's rod.

    diameter * d / arm a wheel, two wheels; minus with the arm ahead of the axle, where a
    longer rod pushes the front edges apart. A rod across pushes both arms' ends apart by ``d``
    in all, whichever wheel gives way: one flat of it does what half a flat on each side does.

    Raises ValueError for a diameter that is not above zero.
    """
    return one_rod_mm_a_flat(rod, diameter_mm) * (1 if rod.is_across else 2)


def one_rod_mm_a_flat(rod: Rod, diameter_mm: float) -> float:
    """Return the change of total toe in mm for one flat longer on one rod alone."""
    _above_zero("diameter_mm", diameter_mm)
    change_mm = diameter_mm * rod.mm_a_flat / rod.arm_mm
    return -change_mm if rod.is_ahead else change_mm


def camber_deg_a_flat(sleeve: Sleeve) -> float:
    """Return the change of a wheel's camber in degrees for one flat longer.

    A sixth of atan(k pitch / knuckle) a turn; a longer upper arm leans the top out.
    """
    a_turn_mm = FLATS_A_TURN * sleeve.mm_a_flat
    return degrees(atan(a_turn_mm / sleeve.knuckle_mm)) / FLATS_A_TURN


def formula_change(turn: Turn, steering: Steering, diameter_mm: float | None) -> float | None:
    """Return what the formula gives for one turn's flats: degrees of camber, or mm of toe.

    Of one side's rod only its own share of the toe, so both sides' shares add up. None where
    the flats were not counted or a figure of the part is not known.
    """
    if turn.longer_flats is None:
        return None
    if turn.what == SLEEVE:
        sleeve = steering.sleeve
        return None if sleeve is None else turn.longer_flats * camber_deg_a_flat(sleeve)
    if steering.rod is None or diameter_mm is None:
        return None
    return turn.longer_flats * one_rod_mm_a_flat(steering.rod, diameter_mm)


def toe_moved_mm(camber_change_deg: float, steering: Steering, diameter_mm: float) -> float | None:
    """Return how much toe in mm one wheel gains when its camber changes; None if not known.

    Top going out about the lower joint carries the arm's end out by height * lean; the rod,
    as long as before, pulls it back in: toe-in with the arm ahead, toe-out with it behind.

    Raises ValueError for a diameter that is not above zero.
    """
    _above_zero("diameter_mm", diameter_mm)
    if steering.rod is None or steering.rod_height_mm is None:
        return None
    carried_mm = steering.rod_height_mm * radians(camber_change_deg)
    moved_mm = diameter_mm * carried_mm / steering.rod.arm_mm
    return moved_mm if steering.rod.is_ahead else -moved_mm


def advise(value: float, *, target: float, low: float, high: float, a_flat: float) -> Advice:
    """Return how many flats take ``value`` to ``target``, where one changes it by ``a_flat``.

    To the nearest whole flat, the fewer of two as near; to the nearest half where the whole
    one leaves [low, high].

    Raises ValueError for a flat that does nothing, or a target outside [low, high].
    """
    if not (isfinite(a_flat) and a_flat != 0):
        raise ValueError(f"a_flat must not be 0, but {a_flat}")
    if not low <= target <= high:
        raise ValueError(f"target must be within {low} and {high}, not {target}")
    whole = _in_steps(value, target, a_flat, 1.0, low, high)
    return whole if whole.lands_inside else _in_steps(value, target, a_flat, 0.5, low, high)


def _in_steps(value, target, a_flat, step_flats, low, high):
    exact_flats = (target - value) / a_flat
    flats = step_flats * _nearest(exact_flats / step_flats)
    predicted = value + flats * a_flat
    return Advice(exact_flats, flats, predicted, step_flats, low <= predicted <= high)


def _nearest(steps):
    return copysign(max(0, ceil(abs(steps) - 0.5 - SAME_STEP)), steps)


def centring(rod: Rod, stands_to: str) -> Centring:
    """Return how to centre a steering wheel that stands to one side with the cart straight.

    Standing to the left, it would point the road wheels to the right once centred, so both
    are to steer left: the left arm's end goes out with the arm ahead, in with it behind.

    Raises ValueError for a side that is not "left" or "right".
    """
    if stands_to not in ("left", "right"):
        raise ValueError(f"stands_to must be left or right, not {stands_to!r}")
    if rod.is_across:
        return Centring(by_drag_link=True)
    other = "left" if stands_to == "right" else "right"
    longer, shorter = (stands_to, other) if rod.is_ahead else (other, stands_to)
    return Centring(longer, shorter, radians(1) * rod.arm_mm / rod.mm_a_flat)


def steered_deg(left_flats: float, right_flats: float, rod: Rod) -> float:
    """Return how far both road wheels steer to the left with the steering wheel held.

    Half the difference of the sides' flats; what they have in common is toe. So one side
    alone, turned for both, leaves the steering wheel off by half of what its wheel turned.
    """
    to_left_mm = (left_flats - right_flats) / 2 * rod.mm_a_flat
    to_left_deg = degrees(to_left_mm / rod.arm_mm)
    return to_left_deg if rod.is_ahead else -to_left_deg


def way(flats: float) -> str:
    """Return "longer" or "shorter"; empty for no flats."""
    if not flats:
        return ""
    return LONGER if flats > 0 else SHORTER


def clockwise(flats: float, right_hand: str) -> int:
    """Return +1 where a part is to be turned clockwise seen from the wheel, -1 where not.

    Turned clockwise a right-hand thread goes away from who looks: with it at the wheel end off
    that end, so longer, and a left-hand thread at the other end does the same once more. 0
    where nothing is to be turned or the end with the right-hand thread is not told.
    """
    longer = {AT_WHEEL: 1, AT_MIDDLE: -1}.get(right_hand, 0)
    return longer * ((flats > 0) - (flats < 0))


def _mm_a_flat(pitch_mm, is_double):
    return pitch_mm * (2 if is_double else 1) / FLATS_A_TURN


def _above_zero(name, value):
    if not (isfinite(value) and value > 0):
        raise ValueError(f"{name} must be above 0, not {value}")
