"""Days and moments as people write them, read in the order of the site. Pure."""

import re
from datetime import UTC, date, datetime, time, timedelta, timezone
from functools import lru_cache
from typing import Literal

from fleet.sheet_words import Words, WrongCell, gettext_noop

DateOrder = Literal["mdy", "dmy", "ymd"]

EARLIEST_YEAR = 1950
LATEST_YEAR = 2100
CENTURY = 2000
"""Two-digit years are of this century: no cart's paperwork is older."""

MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
MONTH_OF = {
    **{name: number for number, name in enumerate(MONTHS, 1)},
    **{name[:3]: number for number, name in enumerate(MONTHS, 1)},
    "sept": 9,
}
WEEKDAY = re.compile(r"(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?[.,]* ", re.I)
YEAR_FIRST = re.compile(r"(\d{4})([-/. ])(\d{1,2})\2(\d{1,2})", re.A)
RUN_TOGETHER = re.compile(r"(\d{4})(\d{2})(\d{2})", re.A)
THREE_NUMBERS = re.compile(r"(\d{1,2})([-/. ])(\d{1,2})\2(\d{4}|\d{2})", re.A)
DAY_MONTH = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th)?[-/. ]{0,2}([a-z]{3,9})[-/., ]{1,2}(\d{4}|\d{2})", re.A | re.I
)
MONTH_DAY = re.compile(
    r"([a-z]{3,9})[-/. ]{0,2}(\d{1,2})(?:st|nd|rd|th)?[-/, ]{1,2}(\d{4}|\d{2})", re.A | re.I
)
YEAR_NAMED = re.compile(r"(\d{4})[-/. ]([a-z]{3,9})[-/. ](\d{1,2})", re.A | re.I)
CLOCK = re.compile(
    r"(?P<day>.{6,40}?)(?:[ ,]{1,3}(?:at )?|T)"
    r"(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2})(?:\.\d{1,9})?)?"
    r" ?(?P<half>[ap]\.?m\.?)? ?(?P<zone>Z|[+-]\d{2}:?\d{2})?",
    re.A | re.I,
)
LONGEST_DATE = 60
KEPT_DATES = 4_096
"""A sheet names few days, many times each."""

EXAMPLES = {
    "mdy": gettext_noop("3/2/2026 or Mar 2, 2026 (month, day, year)"),
    "dmy": gettext_noop("2/3/2026 or 2 Mar 2026 (day, month, year)"),
    "ymd": gettext_noop("2026/3/2 or 2 Mar 2026"),
}


def read_day(text: str, order: DateOrder) -> date:
    """Return the day that the text names; a time of day after it is dropped.

    ISO is read in every order; numbers alone only in ``order``. Raises WrongCell for
    what is no day, never turning month and day round to make it one.
    """
    moment = read_day_or_moment(text, order)
    return moment.date() if isinstance(moment, datetime) else moment


@lru_cache(KEPT_DATES)
def read_day_or_moment(text: str, order: DateOrder) -> date | datetime:
    """Return a date, or a datetime when a time of day is written.

    The datetime is aware only when the text carries an offset; else it is site time.
    """
    line = " ".join(text.split())
    if len(line) > LONGEST_DATE:
        raise not_a_day(order)
    timed = CLOCK.fullmatch(line)
    if timed is None:
        return _day(line, order)
    return datetime.combine(_day(timed["day"], order), _clock(timed, order))


def not_a_day(order: DateOrder) -> WrongCell:
    """Return the refusal that says which days would be accepted."""
    return WrongCell(
        gettext_noop("a day that exists, such as 2026-03-02 or %(example)s"),
        example=Words(EXAMPLES[order]),
    )


def _day(text: str, order: DateOrder) -> date:
    bare = WEEKDAY.sub("", text, count=1) if WEEKDAY.match(text) else text
    parts = _numbered(bare, order) or _named(bare)
    if parts is None:
        raise not_a_day(order)
    year, month, day = parts
    try:
        if not EARLIEST_YEAR <= year <= LATEST_YEAR:
            raise ValueError(f"no year to expect: {year}")
        return date(year, month, day)
    except ValueError as impossible:
        raise not_a_day(order) from impossible


def _numbered(text: str, order: DateOrder) -> tuple[int, int, int] | None:
    if found := YEAR_FIRST.fullmatch(text):
        return _year(found[1]), int(found[3]), int(found[4])
    if found := RUN_TOGETHER.fullmatch(text):
        return _year(found[1]), int(found[2]), int(found[3])
    if not (found := THREE_NUMBERS.fullmatch(text)):
        return None
    if order == "ymd":
        two_digits = len(found[1]) == len(found[4]) == 2
        return (_year(found[1]), int(found[3]), int(found[4])) if two_digits else None
    first, second, year = int(found[1]), int(found[3]), _year(found[4])
    return (year, first, second) if order == "mdy" else (year, second, first)


def _named(text: str) -> tuple[int, int, int] | None:
    if found := DAY_MONTH.fullmatch(text):
        day, month, year = found.groups()
    elif found := MONTH_DAY.fullmatch(text):
        month, day, year = found.groups()
    elif found := YEAR_NAMED.fullmatch(text):
        year, month, day = found.groups()
    else:
        return None
    number = MONTH_OF.get(month.lower())
    return (_year(year), number, int(day)) if number else None


def _year(digits: str) -> int:
    return int(digits) + (CENTURY if len(digits) == 2 else 0)


def _clock(timed: re.Match[str], order: DateOrder) -> time:
    hour, half = int(timed["hour"]), (timed["half"] or "").lower()[:1]
    if half and not 1 <= hour <= 12:
        raise not_a_day(order)
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    try:
        return time(hour, int(timed["minute"]), int(timed["second"] or 0), tzinfo=_zone(timed))
    except ValueError as impossible:
        raise not_a_day(order) from impossible


def _zone(timed: re.Match[str]) -> timezone | None:
    zone = timed["zone"]
    if not zone:
        return None
    if zone in "Zz":
        return UTC
    digits = zone[1:].replace(":", "")
    offset = timedelta(hours=int(digits[:2]), minutes=int(digits[2:]))
    return timezone(-offset if zone[0] == "-" else offset)
