"""Which column of a sheet is which: wanted headings, and the line that carries them. Pure."""

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, get_args

from openpyxl.utils import get_column_letter

from fleet.sheet_grid import Line, Raw, is_blank
from fleet.sheet_words import shown
from shared.units import SPELLINGS

Kind = Literal[
    "text",
    "number",
    "date",
    "day_or_moment",
    "length",
    "distance",
    "hours",
    "yes_no",
    "choice",
]

HEADING_CHARACTERS = 200
NUMBER_WORDS = {"#", "no", "nr", "num", "nbr"}
BRACKETS = re.compile(r"[(\[{][^)\]}]*[)\]}]")
UNIT_OF_WORD: Mapping[str, Mapping[str, str]] = {
    quantity: {word: unit for unit, words in SPELLINGS[quantity].items() for word in words.split()}
    for quantity in ("length", "distance", "hours")
}
UNIT_WORDS = {word for words in UNIT_OF_WORD.values() for word in words}


@dataclass(frozen=True)
class ColumnSpec:
    """One wanted column.

    ``required``: the column must be there and each of its cells filled.
    ``choices``: code of the choice -> the words that people write for it, best word first.
    ``unit``: of a length or distance when neither the cell nor the heading names one.
    """

    code: str
    heading: str
    synonyms: Sequence[str] = ()
    required: bool = False
    kind: Kind = "text"
    choices: Mapping[str, Sequence[str]] = field(default_factory=dict)
    example: str = ""
    unit: str = ""

    def __post_init__(self) -> None:
        if self.kind not in get_args(Kind):
            raise ValueError(f"{self.code}: no kind of column is called {self.kind!r}")
        if (self.kind == "choice") != bool(self.choices):
            raise ValueError(f"{self.code}: choices belong to kind 'choice', not {self.kind!r}")
        if self.kind in ("length", "distance") and not self.unit:
            raise ValueError(f"{self.code}: a {self.kind} needs the unit that is meant without one")

    @property
    def accepted_headings(self) -> tuple[str, ...]:
        return (self.heading, *self.synonyms)


@dataclass(frozen=True)
class FoundColumn:
    """A wanted column as it stands in the sheet; ``index`` counts from 0."""

    spec: ColumnSpec
    heading: str
    index: int
    unit: str

    @property
    def letter(self) -> str:
        return get_column_letter(self.index + 1)


@dataclass(frozen=True)
class Header:
    """The line of headings: what was found on it, what is left over, what is there twice."""

    line: int
    width: int
    found: tuple[FoundColumn, ...]
    ignored: tuple[str, ...]
    twice: tuple[tuple[str, str], ...] = ()

    def is_repeated_by(self, cells: Sequence[Raw]) -> bool:
        """Return whether a later line is the same headings again, as at the top of a page."""
        for column in self.found:
            cell = cells[column.index] if column.index < len(cells) else None
            if not isinstance(cell, str) or shown(cell).casefold() != column.heading.casefold():
                return False
        return bool(self.found)


def words_in(text: str) -> list[str]:
    """Return the words of a heading without case, accents or punctuation; "#" is "number"."""
    split = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text[:HEADING_CHARACTERS])
    bare = "".join(
        letter
        for letter in unicodedata.normalize("NFKD", split)
        if not unicodedata.combining(letter)
    )
    found = re.findall(r"[^\W_]+|#", bare.casefold())
    return ["number" if word in NUMBER_WORDS else word for word in found]


def plain(text: str) -> str:
    """Return the text as it is compared: "Cart #", "cart no." and "CART NUMBER" are one."""
    return "".join(words_in(text))


def readings_of(heading: str) -> list[str]:
    """Return what a heading may be matched as: whole, without brackets, without its unit."""
    bare = BRACKETS.sub(" ", heading[:HEADING_CHARACTERS])
    words = words_in(bare)
    unitless = words[:-1] if len(words) > 1 and words[-1] in UNIT_WORDS else words
    return [plain(heading), "".join(words), "".join(unitless)]


def unit_in(heading: str, spec: ColumnSpec) -> str:
    """Return the unit that the heading names, else the one the column is meant in."""
    known = UNIT_OF_WORD.get(spec.kind, {})
    named = [known[word] for word in words_in(heading) if word in known]
    return named[-1] if named else spec.unit


def _fit(heading: str, spec: ColumnSpec) -> tuple[int, int] | None:
    names = [plain(name) for name in spec.accepted_headings]
    for quality, reading in enumerate(readings_of(heading)):
        if reading and reading in names:
            return quality, names.index(reading)
    return None


def read_header(line: Line, wanted: Sequence[ColumnSpec]) -> Header:
    """Match the cells of one line to the wanted columns, closest heading first."""
    number, cells = line
    headings = {index: str(cell) for index, cell in enumerate(cells) if not is_blank(cell)}
    fits = sorted(
        (fit, order, index)
        for index, heading in headings.items()
        for order, spec in enumerate(wanted)
        if (fit := _fit(heading, spec)) is not None
    )
    return _settle(number, len(cells), headings, fits, wanted)


def _settle(
    number: int,
    width: int,
    headings: Mapping[int, str],
    fits: Iterable[tuple[tuple[int, int], int, int]],
    wanted: Sequence[ColumnSpec],
) -> Header:
    taken: dict[int, tuple[tuple[int, int], int]] = {}
    used: set[int] = set()
    twice: list[tuple[str, str]] = []
    for fit, order, index in fits:
        if index in used:
            continue
        if order not in taken:
            taken[order] = (fit, index)
            used.add(index)
        elif taken[order][0] == fit:
            twice.append((headings[taken[order][1]], headings[index]))
    places = sorted((index, order) for order, (_, index) in taken.items())
    found = tuple(_found(wanted[order], headings[index], index) for index, order in places)
    ignored = tuple(shown(text) for index, text in headings.items() if index not in used)
    return Header(number, width, found, ignored, tuple(twice))


def _found(spec: ColumnSpec, heading: str, index: int) -> FoundColumn:
    return FoundColumn(spec, shown(heading), index, unit_in(heading, spec))


def best_header(lines: Iterable[Line], wanted: Sequence[ColumnSpec]) -> Header | None:
    """Return the header that names most wanted columns, the first among equals.

    Where no line names any, the line with most words stands for it. None without lines.
    """
    headers = [read_header(line, wanted) for line in lines]
    return max(headers, key=_closeness, default=None)


def _closeness(header: Header) -> tuple[int, int, int]:
    needed = sum(column.spec.required for column in header.found)
    leftover = 0 if header.found else len(header.ignored)
    return len(header.found), needed, leftover
