"""Numbers and quantities as people write them, and every change of unit. No Django.

What a person typed is read by the parser here and never by pint, which takes "1 1/8 in"
for 0.125 in, "22 ft lb" for a mass times a length, and hangs on "9**9**9".
Units come from a closed list for each quantity; only names from that list reach pint.
Factors are those of NIST SP 811 (2008) App. B, by way of pint's one registry below.
"""

import re
import unicodedata
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal, localcontext
from functools import cache, lru_cache

import pint

LONGEST_NUMBER_CHARS = 24
LONGEST_QUANTITY_CHARS = 40
# finer than this is kept as nought, and nothing may be divided by it
LEAST_SI = Decimal("0.001")
KEPT_DIGITS = 44  # 24 typed times the 17 of the longest factor that ends
WORKING_DIGITS = 60  # the rounding of a factor stays below those kept
KEPT_SPELLINGS = 256
INCHES_A_FOOT = 12
_WORKING, _KEEPING = Context(prec=WORKING_DIGITS), Context(prec=KEPT_DIGITS)

with localcontext(Context(prec=WORKING_DIGITS)):  # pint derives its units by the context
    REGISTRY = pint.UnitRegistry(non_int_type=Decimal)
pint.set_application_registry(REGISTRY)  # quantities of two registries do not mix

SI_UNITS = {
    "length": "mm",
    "distance": "m",
    "torque": "N.m",
    "mass": "kg",
    "pressure": "kPa",
    "speed": "km/h",
    "hours": "h",
    "angle": "deg",
}
UNITS_OF = {
    "metric": {**SI_UNITS, "distance": "km"},
    "inch": {
        "length": "in",
        "distance": "mi",
        "torque": "lbf.ft",
        "mass": "lb",
        "pressure": "psi",
        "speed": "mph",
        "hours": "h",
        "angle": "deg",
    },
}

# Written small and without spaces, dots, stars and hyphens: see _key.
SPELLINGS = {
    "length": {
        "mm": "mm millimetre millimetres millimeter millimeters",
        "cm": "cm centimetre centimetres centimeter centimeters",
        "m": "m metre metres meter meters",
        "in": "in ins inch inches \" ″ ” ''",
        "ft": "ft foot feet ' ′ ’",
    },
    "distance": {
        "km": "km kms kilometre kilometres kilometer kilometers",
        "mi": "mi mile miles",
        "m": "m metre metres meter meters",
    },
    "torque": {
        "N.m": "nm newtonmetre newtonmetres newtonmeter newtonmeters",
        "lbf.ft": "lbfft ftlbf ftlb ftlbs lbft lbsft footpound footpounds poundfoot poundfeet",
        "lbf.in": "lbfin inlbf inlb inlbs lbin lbsin inchpound inchpounds poundinch poundinches",
        "kgf.m": "kgfm mkgf",
        "kgf.cm": "kgfcm cmkgf",
    },
    "mass": {
        "kg": "kg kgs kilogram kilograms",
        "lb": "lb lbs pound pounds",
    },
    "pressure": {"kPa": "kpa", "psi": "psi", "bar": "bar bars"},
    "speed": {"km/h": "km/h kmh kph", "mph": "mph mi/h"},
    "hours": {"h": "h hr hrs hour hours"},
    "angle": {"deg": "deg degs degree degrees °", "arcmin": "arcmin min ' ′ ’"},
}

PINT_NAMES = {
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "in": "inch",
    "ft": "foot",
    "km": "kilometer",
    "mi": "mile",
    "N.m": "newton * meter",
    "lbf.ft": "force_pound * foot",
    "lbf.in": "force_pound * inch",
    "kgf.m": "force_kilogram * meter",
    "kgf.cm": "force_kilogram * centimeter",
    "kg": "kilogram",
    "lb": "pound",
    "kPa": "kilopascal",
    "psi": "pound_force_per_square_inch",
    "bar": "bar",
    "km/h": "kilometer / hour",
    "mph": "mile / hour",
    "h": "hour",
    "deg": "degree",
    "arcmin": "arcminute",
}

# Places that a mechanic's own tool can show; common practice, no source.
PLACES = {"in": 3, "ft": 2, "kPa": 0, "deg": 2, "cm": 2, "m": 2}

_SPACES = "[ \u00a0\u2009\u202f]+"
_WHOLE = (
    r"(?P<whole>[0-9]+|[1-9][0-9]{{0,2}}(?P<mark>[ {thousands}])[0-9]{{3}}(?:(?P=mark)[0-9]{{3}})*)"
)
_POINT_DECIMAL = re.compile(_WHOLE.format(thousands=",") + r"?(?:\.(?P<part>[0-9]+))?")
_COMMA_DECIMAL = re.compile(_WHOLE.format(thousands=".") + r"?(?:,(?P<part>[0-9]+))?")
_PLAINEST = re.compile(r"[0-9]+(?:\.[0-9]+)?")
_FRACTION = re.compile(
    rf"(?:{_WHOLE.format(thousands=',')}[ -] ?)?(?P<over>[0-9]+) ?/ ?(?P<under>[0-9]+)"
)
_DEGREES_MINUTES = re.compile(r"(-?)([0-9]{1,3}) ?° ?([0-9]{1,2}(?:[.,][0-9]+)?) ?['′’]")
_FEET_INCHES = re.compile(
    r"(-?)([0-9]{1,6}) ?(?:['′’]|ft\.?|foot|feet)(?:-| - | ?)"
    r"([0-9.][0-9.,/ -]*?) ?(?:[\"″”]|''|ins?\.?|inch|inches)?",
    re.IGNORECASE,
)
_NUMBER_THEN_UNIT = re.compile(r"([-+−0-9.,/⁄\s\u00bc-\u00be\u2150-\u215f\u2189]*)(.*)", re.DOTALL)


class Unreadable(ValueError):
    """What a person wrote cannot be read.

    ``plain`` is the message with its holes, for a door to translate; ``holes`` fills them.
    """

    def __init__(self, plain: str, **holes: str):
        super().__init__(plain % holes)
        self.plain = plain
        self.holes = holes


@dataclass(frozen=True)
class Measure:
    """A quantity: the text typed, its number and unit, and the same in SI_UNITS."""

    typed: str
    value: Decimal
    unit: str
    si: Decimal


def gettext_noop(message: str) -> str:
    """Mark a message for the translators; the door translates it."""
    return message


NO_UNIT = gettext_noop("“%(text)s”: the unit “%(unit)s” is not one of %(accepted)s")
NO_LENGTH = gettext_noop(
    "“%(text)s”: the unit “%(unit)s” is not one of %(accepted)s; "
    "feet with inches are read like 14' 6\" or 14 ft 6 1/2 in"
)


def read_number(text: str) -> Decimal:
    """Return the number a person wrote, exactly.

    Whole, decimal or with a fraction: "1,850.0", "1 850.0", "1.850,0", "1850,5", "35 7/8",
    "35-7/8", "1⅛", ".125". The last of two marks is the decimal one. A lone comma before
    exactly three digits parts thousands ("1,850"), save after a zero ("0,125"); a lone point
    is always the decimal mark.

    Raises ValueError naming the text: no number, a zero below the line, exponents, nan, inf,
    more than 24 characters.
    """
    if len(text) > LONGEST_NUMBER_CHARS:
        raise _not_a_number(text)
    if _PLAINEST.fullmatch(text):
        return Decimal(text)
    plain = _plain(text)
    negative = plain.startswith("-")
    size = _fraction(plain.lstrip("+-")) if "/" in plain else _decimal(plain.lstrip("+-"))
    if size is None or re.match(r"[+-]{2}", plain):
        raise _not_a_number(text)
    return -size if negative else size


def _plain(text: str) -> str:
    """Spell vulgar fractions, minus signs and spaces with the plain characters."""
    # NFKC on the whole text would turn 1⅛ into 11⁄8.
    spelt = "".join(
        " " + unicodedata.normalize("NFKC", sign)
        if unicodedata.decomposition(sign).startswith("<fraction>")
        else sign
        for sign in text
    )
    return re.sub(_SPACES, " ", spelt.replace("−", "-").replace("⁄", "/")).strip(" ")


def _decimal(digits: str) -> Decimal | None:
    found = _POINT_DECIMAL.fullmatch(digits) or _COMMA_DECIMAL.fullmatch(digits)
    if not digits or not found:
        return None
    part = f".{found['part']}" if found["part"] else ""
    return Decimal(_digits_only(found["whole"]) + part)


def _fraction(written: str) -> Decimal | None:
    found = _FRACTION.fullmatch(written.strip(" "))
    if not found or not int(found["under"]):
        return None
    over, under = Decimal(found["over"]), Decimal(found["under"])
    if found["whole"] and over >= under:
        return None  # "35 9/8" is a slip of the finger
    return Decimal(_digits_only(found["whole"])) + over / under


def _digits_only(whole: str | None) -> str:
    return re.sub("[^0-9]", "", whole or "0")


def _not_a_number(text: str) -> Unreadable:
    return Unreadable(
        gettext_noop("“%(text)s” is not a number; write it like 1850.5, 1,850.5 or 35 7/8"),
        text=text[:LONGEST_QUANTITY_CHARS],
    )


def read_quantity(text: str, quantity: str, unit: str) -> Measure:
    """Return what a person wrote as a Measure of ``quantity``, a key of SI_UNITS.

    ``unit`` is meant where none was typed. An angle may be in degrees and minutes, a length
    in feet and inches, whose sign holds for both: "-0°36'" is -0.6 deg, 14' 6 1/2" is 174.5 in.

    Raises ValueError naming the text for a number that cannot be read, or for a unit that
    does not measure this quantity.
    """
    meant = _unit_named(unit, quantity, text)
    if len(text) > LONGEST_QUANTITY_CHARS:
        raise _not_a_number(text)
    if quantity == "angle" and (found := _DEGREES_MINUTES.fullmatch(_plain(text))):
        return _angle(text, *found.groups())
    if quantity == "length" and (found := _FEET_INCHES.fullmatch(_plain(text))):
        return _feet_inches(text, *found.groups())
    number, spelling = _NUMBER_THEN_UNIT.fullmatch(text).groups()
    if not number.strip():
        raise _not_a_number(text)
    named = _unit_named(spelling, quantity, text) if spelling.strip() else meant
    value = read_number(number.strip())
    return Measure(text, value, named, convert(value, named, SI_UNITS[quantity]))


def with_unit(typed: str, quantity: str, si: Decimal | None) -> str:
    """Return a quantity as typed, with the unit it was read in where none was typed."""
    try:
        number = read_number(typed.strip())
    except ValueError:
        return typed
    if not si or not number:
        return typed
    meant = min(SPELLINGS[quantity], key=lambda unit: _apart(number, unit, si, quantity))
    return f"{typed} {printed(meant)}"


def _apart(number: Decimal, unit: str, si: Decimal, quantity: str) -> Decimal:
    return abs(convert(number, unit, SI_UNITS[quantity]) - si)


def _angle(text: str, sign: str, degrees: str, minutes: str) -> Measure:
    minutes_read = read_number(minutes)
    if minutes_read >= 60:
        raise _not_a_number(text)
    size = _kept(Decimal(degrees) + convert(minutes_read, "arcmin", "deg"))
    value = -size if sign else size
    return Measure(text, value, "deg", value)


def _feet_inches(text: str, sign: str, feet: str, inches: str) -> Measure:
    try:
        inches_read = read_number(inches)
    except ValueError as unread:
        raise _not_a_number(text) from unread
    if inches_read >= INCHES_A_FOOT:
        raise _not_a_number(text)
    size = Decimal(feet) * INCHES_A_FOOT + inches_read
    value = -size if sign else size
    return Measure(text, value, "in", convert(value, "in", SI_UNITS["length"]))


def _unit_named(spelling: str, quantity: str, text: str) -> str:
    units = _units_by_spelling(quantity)
    if _key(spelling) in units:
        return units[_key(spelling)]
    raise Unreadable(
        NO_LENGTH if quantity == "length" else NO_UNIT,
        text=text[:LONGEST_QUANTITY_CHARS],
        unit=spelling.strip()[:LONGEST_QUANTITY_CHARS],
        accepted=", ".join(printed(unit) for unit in SPELLINGS[quantity]),
    )


@cache
def _units_by_spelling(quantity: str) -> dict[str, str]:
    if quantity not in SPELLINGS:
        raise ValueError(f"quantity must be one of {', '.join(SPELLINGS)}, not {quantity!r}")
    return {
        spelling: unit
        for unit, spellings in SPELLINGS[quantity].items()
        for spelling in spellings.split(" ")
    }


@lru_cache(KEPT_SPELLINGS)
def _key(spelling: str) -> str:
    """Fold what people write differently for one unit: N.m, N·m, Nm; ft-lb, ft lb."""
    return re.sub(r"[\s.·⋅*-]", "", spelling).casefold()


def convert(value: Decimal, from_unit: str, to_unit: str) -> Decimal:
    """Return ``value`` in another unit of the same quantity, right to 44 digits.

    Raises ValueError for an unknown unit, for two that measure different things (a torque is
    never a length, a mass or an energy), and for a value that is not finite.
    """
    if not value.is_finite():
        raise ValueError(f"only a finite value can be converted, not {value}")
    factor = _factor(from_unit, to_unit)
    return value if factor == 1 else _kept(_WORKING.multiply(value, factor))


@cache
def _factor(from_unit: str, to_unit: str) -> Decimal:
    if not any({from_unit, to_unit} <= set(units) for units in SPELLINGS.values()):
        raise ValueError(f"no quantity is measured in both {from_unit!r} and {to_unit!r}")
    with localcontext(Context(prec=WORKING_DIGITS)):
        one = REGISTRY.Quantity(Decimal(1), PINT_NAMES[from_unit])
        return one.to(PINT_NAMES[to_unit]).magnitude


def _kept(value: Decimal) -> Decimal:
    tidy = value.normalize(_KEEPING)
    return tidy.quantize(Decimal(1), context=_WORKING) if "E+" in str(tidy) else tidy


def printed(unit: str) -> str:
    """Return the unit as it stands on a page, such as N·m."""
    return {"deg": "°", "arcmin": "′"}.get(unit, unit.replace(".", "·"))


def shown(si: Decimal, quantity: str, system: str, places: int | None = None) -> str:
    """Return an SI value (see SI_UNITS) for a page of a site: "25.0 mi", "54.2 N·m"."""
    unit = UNITS_OF[system][quantity]
    places = PLACES.get(unit, 1) if places is None else places
    figure = convert(si, SI_UNITS[quantity], unit).quantize(Decimal(10) ** -places, ROUND_HALF_UP)
    space = "" if unit == "deg" else " "
    return f"{figure or abs(figure):,f}{space}{printed(unit)}"


def as_typed(si: Decimal, quantity: str, system: str) -> str:
    """Return an SI value as it may be typed again unchanged: "22 in"; else in SI, "545.5 mm"."""
    unit = UNITS_OF[system][quantity]
    figure = convert(si, SI_UNITS[quantity], unit).quantize(Decimal("0.001"), ROUND_HALF_UP)
    if convert(figure, unit, SI_UNITS[quantity]) != si:
        figure, unit = si, SI_UNITS[quantity]
    return f"{_kept(figure):f} {unit}"
