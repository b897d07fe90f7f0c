"""What a spreadsheet file is read into before anything is made of it: lines of raw cells. Pure."""

import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from itertools import islice
from pathlib import Path
from typing import BinaryIO

from openpyxl.utils.datetime import WINDOWS_EPOCH

Raw = str | int | float | bool | datetime | date | time | timedelta | None
Line = tuple[int, Sequence[Raw]]
Content = bytes | Path
"""A file: its bytes, or where it lies, so that a long one is never held whole."""

LOOKED_AT_LINES = 30
LOOKED_THROUGH_LINES = 1_000
NOT_CALCULATED = "#NOT CALCULATED!"
"""Stands for a formula whose result was never saved."""


@dataclass(frozen=True)
class Limits:
    """The most that is read of one file; sizes in bytes, ``ratio`` unpacked to packed."""

    file_bytes: int = 10_000_000
    unpacked_bytes: int = 100_000_000
    members: int = 1_000
    ratio: int = 200
    tags: int = 8_000_000
    rows: int = 50_000
    columns: int = 100
    cell_characters: int = 4_000


LIMITS = Limits()
READING_LIMITS = Limits(file_bytes=100_000_000, rows=1_000_000)


@dataclass(frozen=True)
class Grid:
    """One sheet of a file; ``lines()`` reads it from the top each time it is called.

    ``epoch`` is day 0 of the file's serial dates. In a ``delimited`` file a cell
    beyond the headings means that a value was cut in two.
    """

    name: str
    lines: Callable[[], Iterator[Line]]
    epoch: datetime = WINDOWS_EPOCH
    delimited: bool = False


def opened(content: Content) -> BinaryIO:
    """Return a file's content to be read from the start."""
    return io.BytesIO(content) if isinstance(content, bytes) else content.open("rb")


def bytes_of(content: Content) -> int:
    """Return how many bytes a file has."""
    return len(content) if isinstance(content, bytes) else content.stat().st_size


def first_lines(lines: Iterator[Line]) -> Iterator[Line]:
    """Yield the first lines that have something in them, among which headings are sought."""
    near = islice(lines, LOOKED_THROUGH_LINES)
    return islice((line for line in near if width(line[1])), LOOKED_AT_LINES)


def is_blank(cell: Raw) -> bool:
    """Return whether nothing can be seen in the cell."""
    return cell is None or (isinstance(cell, str) and (not cell or cell.isspace()))


def width(cells: Sequence[Raw]) -> int:
    """Return the number of cells up to the last one that is not blank."""
    for index in range(len(cells), 0, -1):
        if not is_blank(cells[index - 1]):
            return index
    return 0
