"""Names of the pieces of work that rounds do and kinds of recheck ask for."""

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
    wheel = {of_wheel(joint.family, joint.wheel)} if joint.wheel else set()
    jam_nut = {JAM_NUTS} if is_jam_nut(joint.name) else set()
    own = {joint.family, of_joint(joint.name), of_relocking(joint.name)}
    return frozenset(own | wheel | jam_nut)


def is_jam_nut(name: str) -> bool:
    """Whether a joint so named is a jam nut of the steering, undone to turn camber or toe."""
    words = name.lower().replace("-", " ")
    return "jam nut" in words and "brake" not in words
