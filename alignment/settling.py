"""What would settle a verdict of "can't tell". Pure."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from alignment.uncertainty import CANT_TELL, Combined, verdict

MOST_READINGS = 5


@dataclass(frozen=True)
class Asks:
    """How many readings, all by a tape or gauge with this smallest ``mark``."""

    count: int
    mark: float


def what_settles(
    value: float,
    low: float,
    high: float,
    *,
    mark: float,
    marks: Sequence[float],
    standard_at: Callable[[float, int], Combined],
    most: int = MOST_READINGS,
) -> Asks | None:
    """Return the least that proves ``value`` inside or outside [low, high], or None.

    The fewest readings, up to ``most``, with the ``mark`` in hand; where none of them do,
    the fewest with the next finer of ``marks``, and so on. Value, limits and
    ``standard_at(mark, count)`` in one unit; marks in the tape's or gauge's own. Taken that
    the mean stays what it is and readings repeat as ``standard_at`` says.

    None: too near a limit for anything here, so only a turn to the middle helps.

    Raises ValueError for fewer than one reading.
    """
    if most < 1:
        raise ValueError(f"most must be at least 1, not {most}")
    finer = sorted((one for one in set(marks) if one < mark), reverse=True)
    for each in (mark, *finer):
        for count in range(1, most + 1):
            expanded = standard_at(each, count).expanded
            if verdict(value, low, high, expanded) != CANT_TELL:
                return Asks(count, each)
    return None
