"""What a printed document is made of: sections of headings, words, points, pairs and grids.

Each block says itself as the dict that paper.typ sets; ``lines`` is how many rows it counts
for when a document is split into parts.
"""

from dataclasses import dataclass

from fleet.bundle.paper.wording import clipped, fitted, printable

TABLE_PT, PAIRS_PT = 7.5, 9
PT_A_MM = 72 / 25.4
MARGIN_MM, GAP_MM = 15, 1.2
CHARACTERS_A_LINE = 300
# width and height
SHEETS = {"a4": (210, 297), "us-letter": (215.9, 279.4)}


@dataclass(frozen=True)
class Sheet:
    """One kind of sheet, upright or turned."""

    name: str
    turned: bool = False

    @property
    def width_mm(self):
        """The width inside the margins."""
        return SHEETS[self.name][self.turned] - 2 * MARGIN_MM


@dataclass(frozen=True)
class Heading:
    """``about`` names whose chapter begins here, on a page of its own."""

    text: str
    level: int = 1
    about: str = ""
    lines = 1

    def said(self, sheet):
        said = {"kind": "heading", "level": self.level, "text": printable(self.text)}
        return said | {"begins": bool(self.about)}


@dataclass(frozen=True)
class Title:
    """The title of the document, said once more on its first page."""

    lines = 1

    def said(self, sheet):
        return {"kind": "title"}


@dataclass(frozen=True)
class Contents:
    """The headings of the document with their pages."""

    text: str
    lines = 1

    def said(self, sheet):
        return {"kind": "contents", "text": str(self.text)}


@dataclass(frozen=True)
class Words:
    """A paragraph; ``keeps`` keeps it on the page of what follows."""

    text: str
    keeps: bool = False
    lines = 1

    def said(self, sheet):
        text = fitted(clipped(printable(self.text)), sheet.width_mm * PT_A_MM, PAIRS_PT)
        return {"kind": "words", "text": text, "keeps": self.keeps}


@dataclass(frozen=True)
class Points:
    texts: tuple[str, ...]

    @property
    def lines(self):
        return len(self.texts)

    def said(self, sheet):
        return {"kind": "points", "texts": [printable(text) for text in self.texts]}


@dataclass(frozen=True)
class Pairs:
    """What is said of one thing: names and values beside them."""

    rows: tuple[tuple[str, str], ...]

    @property
    def lines(self):
        return len(self.rows)

    def said(self, sheet):
        width_pt = (sheet.width_mm * 3 / 4 - 2 * GAP_MM) * PT_A_MM
        rows = [
            [printable(str(name)), fitted(clipped(printable(value)), width_pt, PAIRS_PT)]
            for name, value in self.rows
        ]
        return {"kind": "pairs", "rows": rows}


@dataclass(frozen=True)
class Digits(Pairs):
    """Long figures in hexadecimal, each under its name, for comparing digit by digit."""

    def said(self, sheet):
        return {"kind": "digits", "rows": [[str(name), digits] for name, digits in self.rows]}


@dataclass(frozen=True)
class Wide:
    """How one column is printed: its title, its share of the width, its side."""

    title: str
    share: float
    is_number: bool = False


@dataclass(frozen=True)
class Grid:
    columns: tuple[Wide, ...]
    rows: list[list[str]]

    @property
    def lines(self):
        return sum(map(weight, self.rows))

    def said(self, sheet):
        whole = sum(column.share for column in self.columns)
        widths_mm = [sheet.width_mm * column.share / whole for column in self.columns]
        return {
            "kind": "grid",
            "widths": widths_mm,
            "right": [column.is_number for column in self.columns],
            "titles": [str(column.title) for column in self.columns],
            "rows": [_fitted_row(row, widths_mm) for row in self.rows],
        }


def weight(row) -> int:
    """Return how many lines a row counts for: a long one costs more to set."""
    return 1 + sum(map(len, row)) // CHARACTERS_A_LINE


def _fitted_row(row, widths_mm):
    return [
        fitted(clipped(printable(cell)), (width_mm - 2 * GAP_MM) * PT_A_MM, TABLE_PT)
        for cell, width_mm in zip(row, widths_mm, strict=True)
    ]


@dataclass(frozen=True)
class Section:
    """Blocks on sheets of one kind; it begins a page."""

    sheet: Sheet
    blocks: list

    @property
    def lines(self):
        return sum(block.lines for block in self.blocks)

    def said(self):
        return {
            "turned": self.sheet.turned,
            "blocks": [block.said(self.sheet) for block in self.blocks],
        }
