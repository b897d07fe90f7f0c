"""Text files of cells: which encoding, which delimiter, and their lines one by one. Pure."""

import codecs
import csv
import io
from collections.abc import Iterator, Sequence
from functools import partial

from fleet.sheet_columns import ColumnSpec, Header, best_header
from fleet.sheet_grid import Content, Grid, Limits, Line, first_lines, opened, width
from fleet.sheet_words import SheetError, gettext_noop

DELIMITERS = (",", ";", "\t")
SNIFF_BYTES = 1 << 16
BYTE_ORDER_MARKS = {
    codecs.BOM_UTF8: "utf-8-sig",
    codecs.BOM_UTF16_LE: "utf-16",
    codecs.BOM_UTF16_BE: "utf-16",
}

NOT_TEXT = gettext_noop(
    "%(name)s is neither an XLSX workbook nor a text file of cells. "
    "Open it in your spreadsheet program and save it as .xlsx or .csv."
)
BAD_QUOTES = gettext_noop(
    "%(name)s, line %(line)d: a quotation mark is opened and not closed, or closed too early. "
    "Inside a quoted cell a quotation mark is written twice."
)
TOO_WIDE = gettext_noop("%(name)s, line %(line)d has more than %(columns)d columns.")


def csv_grid(content: Content, name: str, wanted: Sequence[ColumnSpec], limits: Limits) -> Grid:
    """Return the cells of a CSV file, split by the delimiter that finds most headings.

    Reads comma, semicolon or tab; UTF-8 and UTF-16 with a mark, else UTF-8, else
    Windows-1252. Raises SheetError for what is not text.
    """
    encoding = _encoding(content, name)
    readers = [partial(_records, content, name, encoding, delimiter) for delimiter in DELIMITERS]
    best = max(readers, key=lambda reader: _fitness(reader(), wanted))
    return Grid(name, lambda: _within(best(), name, limits), delimited=True)


def _encoding(content: Content, name: str) -> str:
    with opened(content) as file:
        start = file.read(max(map(len, BYTE_ORDER_MARKS)))
    for mark, encoding in BYTE_ORDER_MARKS.items():
        if start.startswith(mark):
            candidates = [encoding]
            break
    else:
        candidates = ["utf-8", "cp1252"]
    for encoding in candidates:
        if _decodes(content, encoding):
            return encoding
    raise SheetError(NOT_TEXT, name=name)


def _decodes(content: Content, encoding: str) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        with opened(content) as file:
            while some := file.read(SNIFF_BYTES):
                if "\0" in decoder.decode(some):
                    return False
        decoder.decode(b"", final=True)
    except UnicodeError:
        return False
    return True


def _within(records: Iterator[Line], name: str, limits: Limits) -> Iterator[Line]:
    for line, cells in records:
        if width(cells) > limits.columns:
            raise SheetError(TOO_WIDE, name=name, line=line, columns=limits.columns)
        yield line, cells


def _records(content: Content, name: str, encoding: str, delimiter: str) -> Iterator[Line]:
    """Yield the number and cells of each record; the number is the line it begins on."""
    line = 1
    try:
        with io.TextIOWrapper(opened(content), encoding, newline="") as text:
            # strict: a quotation mark left open would swallow all lines after it.
            reader = csv.reader(text, delimiter=delimiter, strict=True)
            for cells in reader:
                if not _is_delimiter_note(line, cells):
                    yield line, cells
                line = reader.line_num + 1
    except csv.Error as bad:
        raise SheetError(BAD_QUOTES, name=name, line=line) from bad


def _is_delimiter_note(line: int, cells: Sequence[str]) -> bool:
    # "sep=;" is written on top for one well-known spreadsheet program.
    return line == 1 and cells[:1] != [] and cells[0].strip().lower().startswith("sep=")


def _fitness(lines: Iterator[Line], wanted: Sequence[ColumnSpec]) -> tuple[int, int, int]:
    looked_at = _before_error(first_lines(lines))
    header = best_header(looked_at, wanted)
    if header is None:
        return 0, 0, 0
    return len(header.found), _lines_within(header, looked_at), header.width


def _lines_within(header: Header, lines: Sequence[Line]) -> int:
    return sum(number > header.line and width(cells) <= header.width for number, cells in lines)


def _before_error(lines: Iterator[Line]) -> list[Line]:
    kept = []
    try:
        for line in lines:
            kept.append(line)
    except SheetError:
        return kept
    return kept
