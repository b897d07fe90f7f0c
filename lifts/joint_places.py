"""Where a joint sits on a cart seen from below, by its family, wheel and name. Pure.

The front is at the top, so that the cart's left is at the right hand. Figures are those of
the drawing, x to the right and y down. What sits where is common practice, no source.
"""

from dataclasses import dataclass

WIDTH, HEIGHT = 396, 562
MIDDLE = WIDTH // 2
FRONT, REAR = "front", "rear"
LEFT_HAND, RIGHT_HAND = "left", "right"
# seen from below, the cart's left is drawn at the right
SIDES = {LEFT_HAND: 1, RIGHT_HAND: -1}
FRONT_AXLE_Y, REAR_AXLE_Y = 134, 438

Point = tuple[int, int]


@dataclass(frozen=True)
class Spot:
    """Joints of one kind: how far from the middle, and how far down in front and behind.

    They are those of a family, of any where it is empty, whose name holds one of the
    words, any name where there are none.
    """

    words: tuple[str, ...]
    out: int
    family: str = ""
    front_y: int | None = None
    rear_y: int | None = None

    def is_of(self, family: str, name: str) -> bool:
        is_named = not self.words or any(word in name for word in self.words)
        return is_named and self.family in ("", family)

    def y_at(self, end: str) -> int | None:
        """Return how far down at an end; where no end is said, at the only one there is."""
        ends = {FRONT: self.front_y, REAR: self.rear_y}
        if end:
            return ends[end]
        only = [y for y in ends.values() if y is not None]
        return only[0] if len(only) == 1 else None


# the first that fits holds
SPOTS = (
    Spot((), 165, "lugs", FRONT_AXLE_Y, REAR_AXLE_Y),
    Spot((), 122, "hub-nuts", FRONT_AXLE_Y, REAR_AXLE_Y),
    Spot(("camber",), 70, front_y=84),
    Spot(("upper arm",), 60, front_y=104),
    Spot(("lower arm",), 60, front_y=160),
    Spot(("jam nut", "jam-nut"), 50, "steering-joints", front_y=188),
    Spot(("tie rod", "tie-rod", "rod end"), 100, front_y=188),
    Spot(("rack", "steering box", "steering gear"), 24, front_y=210),
    Spot(("king pin", "kingpin", "spindle", "knuckle"), 94, front_y=110),
    Spot(("bumper",), 44, front_y=62, rear_y=540),
    Spot(("hitch", "tow"), 0, rear_y=540),
    Spot(("brake cable", "brake-cable", "brake rod", "brake-rod", "bracket"), 40, rear_y=400),
    Spot(("shock",), 52, front_y=70, rear_y=470),
    Spot(("shackle",), 84, front_y=62, rear_y=516),
    Spot(("centre bolt", "center bolt", "block", "locating"), 84, front_y=156, rear_y=464),
    Spot(("spring",), 84, front_y=180, rear_y=356),
    Spot(("frame", "beam", "suspension", "cross"), 40, front_y=134, rear_y=330),
    Spot((), 84, "u-bolts", FRONT_AXLE_Y, REAR_AXLE_Y),
    Spot((), 100, "steering-joints", front_y=170),
    Spot((), 110, front_y=170, rear_y=400),
)


def place_of(family: str, wheel: str, name: str) -> Point | None:
    """Return where a joint sits, in the drawing's figures; None where nothing tells.

    ``wheel`` is such as "left front" or empty; then the name may say side and end.
    """
    words = set(name.lower().replace("-", " ").split())
    side, end = (_said(pair, wheel, words) for pair in ((LEFT_HAND, RIGHT_HAND), (FRONT, REAR)))
    for spot in SPOTS:
        y = spot.y_at(end) if spot.is_of(family, name.lower()) else None
        if y is not None and (side or spot.words):
            return MIDDLE + SIDES.get(side, 0) * spot.out, y
    return None


def _said(pair: tuple[str, str], wheel: str, words: set[str]) -> str:
    """Return which word of a pair the wheel says, else the name where it says one alone."""
    of_wheel = [word for word in pair if word in wheel.split()]
    found = of_wheel or [word for word in pair if word in words]
    return found[0] if len(found) == 1 else ""
