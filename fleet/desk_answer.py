"""Whether a cart may be handed out. Pure: the one decision that every screen shows."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

LEFT, TAGGED, STOPPED = "left", "tagged", "stopped"
ON_STANDS, LAID_UP, UNPROVEN = "on stands", "laid up", "unproven"
LATE, UNRECORDED = "late", "unrecorded"
FOR_HIRE = "rental"


@dataclass(frozen=True)
class Answer:
    """GO or NO. ``reasons`` keep the cart back, gravest first; ``notes`` go with a GO."""

    goes: bool
    reasons: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def answer(
    *,
    condition: str,
    use_class: str,
    is_tagged: bool,
    is_unproven: bool,
    states: Collection[str],
    unrecorded_before: date | None,
) -> Answer:
    """Return the desk's answer on a cart.

    ``condition`` is "on stands", "in use", "laid up" or "left"; ``states`` are those of
    its active rechecks on the day. NO for a cart that left, is tagged, stopped, on
    stands, laid up, or unproven and for hire; else GO, noting what is late and whether
    its history begins late.

    Raises ValueError for an unknown condition.
    """
    if condition not in ("in use", ON_STANDS, LAID_UP, LEFT):
        raise ValueError(f"condition must be one of a cart's, not {condition!r}")
    holds = {
        LEFT: condition == LEFT,
        TAGGED: is_tagged,
        STOPPED: STOPPED in states,
        ON_STANDS: condition == ON_STANDS,
        LAID_UP: condition == LAID_UP,
        UNPROVEN: is_unproven and use_class == FOR_HIRE,
    }
    reasons = tuple(reason for reason, held in holds.items() if held)
    if reasons:
        return Answer(False, reasons)
    notes = {LATE: LATE in states, UNRECORDED: unrecorded_before is not None}
    return Answer(True, (), tuple(note for note, noted in notes.items() if noted))
