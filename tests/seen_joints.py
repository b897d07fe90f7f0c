"""Looks at joints with nothing wrong, for tests to change, and what they amount to."""

from dataclasses import dataclass
from decimal import Decimal

from lifts.findings import outcome_of_looks


@dataclass(frozen=True)
class Seen:
    """A look with nothing wrong; each test changes what it is about."""

    name: str = "front frame"
    family: str = "other-joints"
    wheel: str = ""
    is_critical: bool = False
    is_thread_locked: bool = False
    found: str = "firm"
    action: str = ""
    right_after: bool = True
    pin: str = ""
    backed_off: bool = False
    stud_damaged: bool = False
    wrench_state: str | None = None
    target_nm: Decimal | None = None
    lacks: str | None = None
    nut_off: bool | None = None
    removals: int | None = None
    removals_allowed: int | None = None
    loose_before: int | None = None
    clean_since: int | None = None
    is_always_new: bool | None = None


def lug(**changes):
    about = {"name": "left front lugs", "family": "lugs", "wheel": "left front"}
    return Seen(**(about | changes))


def u_bolt(**changes):
    return Seen(**({"name": "left U-bolts", "family": "u-bolts"} | changes))


def tie_rod(**changes):
    about = {"name": "left tie-rod end", "family": "steering-joints", "pin": "undisturbed"}
    return Seen(**(about | changes))


def outcome(*looks, offered=None, stage="settling"):
    families = sorted({look.family for look in looks})
    return outcome_of_looks(families if offered is None else offered, stage, looks)


def reasons(found):
    return list(dict.fromkeys(hold.reason for hold in found.holds))
