"""Which entries of a cart may be taken back by themselves. No writes."""

from fleet.gather import LAID_UP, TYRES_BEFORE, WOKEN
from fleet.models import Round
from shared.models import Change, Photo, Strike

CHANGES = {LAID_UP, WOKEN, "tyre size", TYRES_BEFORE}
# a round is taken back whole, on its own page
BY_OTHER_WAYS = {Round.kind(), Photo.kind(), Strike.kind()}


def stands_alone(kind: str, said: dict) -> bool:
    """Whether no round and no place in the register hangs on an entry; ``said`` is its body."""
    if kind == Change.kind():
        return said["what"] in CHANGES
    return kind not in BY_OTHER_WAYS and not (said.get("round") or said.get("round_id"))
