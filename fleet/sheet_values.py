"""One cell made into a value, by the kind of its column. Pure."""

import math
import re
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from openpyxl.utils.datetime import from_excel

from fleet.sheet_columns import FoundColumn, Kind, plain
from fleet.sheet_dates import DateOrder, not_a_day, read_day, read_day_or_moment
from fleet.sheet_grid import NOT_CALCULATED, Raw
from fleet.sheet_words import WrongCell, gettext_noop
from shared.units import Measure, read_number, read_quantity

Value = str | Decimal | date | datetime | Measure | bool | None

SIGNIFICANT_DIGITS = 15
"""What spreadsheet programs show of a number; more is the noise of binary fractions."""

SERIAL_DAYS = range(18_264, 73_416)
"""Serial numbers of 1950 to 2100, days since 1899-12-30."""

ERROR_CELL = re.compile(r"#(?:N/A|GETTING_DATA|[A-Z0-9_/]{1,20}[!?]|#{1,50})", re.I)
BLANK_WORDS = {"-", "--", "–", "—", "n/a", "N/A", "n/A", "N/a"}
YES_WORDS = {"yes", "y", "x", "true", "t", "1", "on", "ja", "j", "si", "s", "oui", "✓", "✔"}
NO_WORDS = {"no", "n", "false", "f", "0", "off", "nein", "non", "nej"}
HOURS_UNIT = re.compile(r" ?(?:h|hrs?|hours?)\.?$", re.I)
HOURS_MINUTES = re.compile(r"(\d{1,6}):([0-5]\d)(?::([0-5]\d))?", re.A)
MOST_CHOICES_SHOWN = 12


@dataclass(frozen=True)
class Setting:
    """What a value depends on besides its cell: the column, the date order, day 0 of serials."""

    column: FoundColumn
    order: DateOrder
    epoch: datetime


def text_of(cell: Raw) -> str:
    """Return a cell's text as a person sees it: 1001.0 is "1001", a day is ISO."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return _typed(cell)
    if isinstance(cell, bool):
        return str(cell).upper()
    if isinstance(cell, int | float):
        return _digits(cell)
    if isinstance(cell, datetime):
        return _moment_text(cell)
    return str(cell)


def is_error(text: str) -> bool:
    """Return whether the text is what a spreadsheet shows for a failed formula."""
    return text.startswith("#") and ERROR_CELL.fullmatch(text) is not None


def read_value(cell: Raw, text: str, setting: Setting) -> Value:
    """Return the value of a cell in a column, None where there is none.

    ``text`` is ``text_of(cell)``. Numbers and hours are Decimal, lengths and distances
    ``shared.units.Measure``, days ``date``, moments ``datetime`` (naive: site time),
    choices their code. Midnight without an offset is a day.
    Raises WrongCell saying what would be accepted.
    """
    if text == NOT_CALCULATED:
        raise WrongCell(gettext_noop("a value (save the file again in a spreadsheet program)"))
    if not text or text in BLANK_WORDS or is_error(text):
        if setting.column.spec.required:
            raise WrongCell(gettext_noop("a value in this column"))
        return None
    return READERS[setting.column.spec.kind](cell, text, setting)


def _typed(text: str) -> str:
    if text.isalnum() and text.isascii():
        return text
    bare = text.replace("\r\n", "\n").replace("\r", "\n").replace("\xa0", " ").strip()
    # Spreadsheets, and exports that fear formulas, put an apostrophe before text.
    return bare[1:].strip() if bare.startswith("'") and not bare.endswith("'", 1) else bare


def _digits(number: int | float) -> str:
    if not math.isfinite(number):
        return str(number)
    if float(number).is_integer() and abs(number) < 10**SIGNIFICANT_DIGITS:
        return str(int(number))
    return format(Decimal(format(number, f".{SIGNIFICANT_DIGITS}g")), "f")


def _moment_text(moment: datetime) -> str:
    if moment.time() == time(0):
        return moment.date().isoformat()
    return moment.isoformat(" ", "minutes" if moment.second == 0 else "seconds")


def _text(cell: Raw, text: str, setting: Setting) -> str:
    if not text.isprintable() and any(
        unicodedata.category(letter) == "Cc" and letter not in "\n\t" for letter in text
    ):
        raise WrongCell(gettext_noop("text without control characters"))
    return text


def _number(cell: Raw, text: str, setting: Setting) -> Decimal:
    if not isinstance(cell, str | int | float) or isinstance(cell, bool):
        raise _not_a_number(setting)
    try:
        return read_number(text) if isinstance(cell, str) else _stored_number(text)
    except ValueError as unread:
        raise _not_a_number(setting) from unread


def _stored_number(text: str) -> Decimal:
    number = Decimal(text)
    if not number.is_finite():
        raise ValueError(f"not a finite number: {text}")
    return number


def _not_a_number(setting: Setting) -> WrongCell:
    example = setting.column.spec.example or "1,850.0"
    return WrongCell(gettext_noop("a number such as %(example)s"), example=example)


def _hours(cell: Raw, text: str, setting: Setting) -> Decimal:
    if isinstance(cell, timedelta):
        return _exact_hours(cell)
    if isinstance(cell, str) and (clock := HOURS_MINUTES.fullmatch(text)):
        hours, minutes, seconds = (int(part or 0) for part in clock.groups())
        return _exact_hours(timedelta(hours=hours, minutes=minutes, seconds=seconds))
    try:
        return _number(cell, HOURS_UNIT.sub("", text), setting)
    except WrongCell as unread:
        raise WrongCell(gettext_noop("hours such as 412.5 or 412.5 h")) from unread


def _exact_hours(span: timedelta) -> Decimal:
    hours = Decimal(span // timedelta(microseconds=1)) / 3_600_000_000
    return hours.quantize(Decimal("0.0001")).normalize() + 0


def _measure(cell: Raw, text: str, setting: Setting) -> Measure:
    column = setting.column
    try:
        if not isinstance(cell, str | int | float) or isinstance(cell, bool):
            raise ValueError(f"neither text nor a number: {cell!r}")
        return read_quantity(text, column.spec.kind, column.unit)
    except ValueError as unread:
        raise WrongCell(
            gettext_noop("a measure such as %(example)s; without a unit it is in %(unit)s"),
            example=column.spec.example or EXAMPLES[column.spec.kind],
            unit=column.unit,
        ) from unread


EXAMPLES: Mapping[str, str] = {"length": "35 7/8 in", "distance": "1,850.0 mi"}


def _day(cell: Raw, text: str, setting: Setting) -> date:
    found = _day_or_moment(cell, text, setting)
    return found.date() if isinstance(found, datetime) else found


def _day_or_moment(cell: Raw, text: str, setting: Setting) -> date | datetime:
    if isinstance(cell, str):
        return _day_if_midnight(read_day_or_moment(text, setting.order))
    native = _from_serial(cell, setting) if isinstance(cell, int | float) else cell
    if not isinstance(native, date):
        raise not_a_day(setting.order)
    return _checked_native(native, setting)


def _checked_native(native: date, setting: Setting) -> date | datetime:
    # The same bounds hold for a true date as for a written one.
    read_day(native.isoformat()[:10], setting.order)
    whole = native.replace(microsecond=0) if isinstance(native, datetime) else native
    return _day_if_midnight(whole)


def _day_if_midnight(found: date | datetime) -> date | datetime:
    if isinstance(found, datetime) and found.timetz() == time(0):
        return found.date()
    return found


def _from_serial(cell: int | float, setting: Setting) -> object:
    if isinstance(cell, bool) or not math.isfinite(cell) or int(cell) not in SERIAL_DAYS:
        raise not_a_day(setting.order)
    return from_excel(cell, setting.epoch)


def _yes_no(cell: Raw, text: str, setting: Setting) -> bool:
    word = plain(text) or text
    if isinstance(cell, bool):
        return cell
    if word in YES_WORDS or text in YES_WORDS:
        return True
    # "no" reads as "number" in headings.
    if word in NO_WORDS or text.casefold().strip(" .") in NO_WORDS:
        return False
    raise WrongCell(gettext_noop("yes or no"))


def _choice(cell: Raw, text: str, setting: Setting) -> str:
    choices = setting.column.spec.choices
    for code, words in choices.items():
        if plain(text) in {plain(code), *map(plain, words)}:
            return code
    best = [next(iter(words), code) for code, words in choices.items()]
    shown = ", ".join(best[:MOST_CHOICES_SHOWN]) + (", …" if len(best) > MOST_CHOICES_SHOWN else "")
    raise WrongCell(gettext_noop("one of: %(choices)s"), choices=shown)


READERS: Mapping[Kind, Callable[[Raw, str, Setting], Value]] = {
    "text": _text,
    "number": _number,
    "date": _day,
    "day_or_moment": _day_or_moment,
    "length": _measure,
    "distance": _measure,
    "hours": _hours,
    "yes_no": _yes_no,
    "choice": _choice,
}
