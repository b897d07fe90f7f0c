"""A row of a list of carts made into the columns of a cart, with all that is wrong in it."""

import re
from datetime import date
from decimal import Decimal

from fleet.importing.columns import TYRE_UNIT
from fleet.models import Cart
from fleet.sheet_dates import EARLIEST_YEAR
from fleet.sheet_words import gettext_noop as _
from fleet.sheets import Fault, Row
from fleet.tyre_codes import LEAST_TYRE_MM, MOST_TYRE_MM
from shared.units import Measure, read_quantity

TEXTS = ("number", "serial", "bay", "area", "colour", "tyre", "owner_ref")
CHOICES = ("power", "use_class")
LONGEST = {name: Cart._meta.get_field(name).max_length for name in TEXTS}
MOST_SEATS = 20
MOST_FIGURE = 10**8
SI_PLACES = Decimal("0.001")
# a tyre marked 22x11-10 is 22 in high; common practice, no source
MARKED_SIZE = re.compile(r"([0-9]{2}(?:\.[0-9]{1,2})?) ?[x×*] ?[0-9]", re.I)

TOO_LONG = _("at most %(most)d characters")
WHOLE = _("a whole number from %(least)d to %(most)d")
NOT_LATER = _("a day up to today")
TYRE_HEIGHT = _("a diameter from %(least)d to %(most)d mm, such as 22 in")
FIGURE = _("a figure from 0 to %(most)d")


class CartRow:
    """One row: ``values`` are Cart's columns as plain JSON, only those that the row gives."""

    def __init__(self, row: Row, today: date):
        self.row = row
        self.today = today
        self.faults: list[Fault] = list(row.faults)
        self.values = self._texts() | self._whole_numbers() | self._choices() | self._days()
        self.values |= self._tyre()
        self.joined_on = self._day("joined_on")
        self.hours, self.distance = self._hours(), self._distance()
        self.wheel_driven = bool(row["wheel_driven"])

    @property
    def number(self) -> str:
        return self.values.get("number", "")

    @property
    def serial(self) -> str:
        return self.values.get("serial", "")

    def refuse(self, code, template, **values):
        self.faults.append(self.row.fault(code, template, **values))

    def _texts(self):
        said = {name: " ".join((self.row[name] or "").split()) for name in TEXTS}
        for name, text in said.items():
            if len(text) > LONGEST[name]:
                self.refuse(name, TOO_LONG, most=LONGEST[name])
        return {name: text for name, text in said.items() if text}

    def _choices(self):
        return {name: self.row[name] for name in CHOICES if self.row[name]}

    def _whole_numbers(self):
        ranges = {"seats": (1, MOST_SEATS), "model_year": (EARLIEST_YEAR, self.today.year + 1)}
        found = {}
        for name, (least, most) in ranges.items():
            value = self.row[name]
            if value is None:
                continue
            if value != int(value) or not least <= value <= most:
                self.refuse(name, WHOLE, least=least, most=most)
            found[name] = int(value)
        return found

    def _days(self):
        day = self._day("insurer_told_on")
        return {"insurer_told_on": day.isoformat()} if day else {}

    def _day(self, name):
        day = self.row[name]
        if day is not None and day > self.today:
            self.refuse(name, NOT_LATER)
        return day

    def _tyre(self):
        measured, marked = self.row["tyre_size"], self.row["tyre"]
        size = measured or _marked(marked or "")
        if size is None:
            return {}
        if not LEAST_TYRE_MM <= size.si <= MOST_TYRE_MM:
            code = "tyre_size" if measured else "tyre"
            self.refuse(code, TYRE_HEIGHT, least=LEAST_TYRE_MM, most=MOST_TYRE_MM)
        said = {"tyre_mm": format(size.si.quantize(SI_PLACES), "f")}
        return said if marked else {**said, "tyre": _with_unit(measured)}

    def _hours(self):
        return self._checked("hours", self.row["hours"])

    def _distance(self):
        measured = self.row["distance"]
        if measured is not None:
            self._checked("distance", measured.value)
        return measured

    def _checked(self, code, value):
        if value is not None and not 0 <= value < MOST_FIGURE:
            self.refuse(code, FIGURE, most=MOST_FIGURE)
        return value


def _marked(text) -> Measure | None:
    """Return the diameter that a tyre size says; None where it says none."""
    found = MARKED_SIZE.match(text)
    try:
        return read_quantity(found[1] if found else text, "length", TYRE_UNIT)
    except ValueError:
        return None


def _with_unit(measured: Measure) -> str:
    """Return a length as typed, with its unit where only the heading named it."""
    bare = measured.typed.replace(",", "").replace(".", "").replace("/", "").replace(" ", "")
    return f"{measured.typed} {measured.unit}" if bare.isdigit() else measured.typed
