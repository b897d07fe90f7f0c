"""Names of the pieces of work that rounds do and kinds of recheck ask for."""

from functools import lru_cache

LUGS = "lugs"
U_BOLTS = "u-bolts"
HUB_NUTS = "hub-nuts"
STEERING = "steering-joints"
OTHER = "other-joints"
GREASE = "grease"
LABEL = "label"
BRAKE = "brake"
STOP_RUN = "stop-run"
TYRES = "tyres"
SPEED = "speed"
HUB_PLAY = "hub-play"
CAMBER_TOE = "camber-toe"
DRIVE = "drive"
JAM_NUTS = "jam-nuts"

JOINTS = frozenset({LUGS, U_BOLTS, HUB_NUTS, STEERING, OTHER})
EVERYTHING = JOINTS | {GREASE, LABEL, BRAKE, STOP_RUN, TYRES, SPEED, HUB_PLAY, CAMBER_TOE}
# more than the kits of a site hold between them
JOINTS_KNOWN = 4_096


def of_joint(name: str) -> str:
    """The piece of work that is one joint."""
    return f"joint:{name}"


def of_relocking(name: str) -> str:
    """The piece of work that is stripping, cleaning and locking one joint anew."""
    return f"relocked:{name}"


def of_point(name: str) -> str:
    """The piece of work that is one grease point."""
    return f"grease:{name}"


def of_wheel(family: str, wheel: str) -> str:
    """The piece of work that is one family of joints at one wheel."""
    return f"{family}:{wheel}"


def of_look(joint) -> frozenset[str]:
    """Every piece of work that a joint, or a look at it, is part of."""
    return _of_joint_at(joint.name, joint.family, joint.wheel)


@lru_cache(JOINTS_KNOWN)
def _of_joint_at(name: str, family: str, wheel: str) -> frozenset[str]:
    at_wheel = {of_wheel(family, wheel)} if wheel else set()
    jam_nut = {JAM_NUTS} if is_jam_nut(name) else set()
    return frozenset({family, of_joint(name), of_relocking(name)} | at_wheel | jam_nut)


def is_jam_nut(name: str) -> bool:
    """Whether a joint so named is a jam nut of the steering, undone to turn camber or toe."""
    words = name.lower().replace("-", " ")
    return "jam nut" in words and "brake" not in words
