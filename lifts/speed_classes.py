"""Speed classes with the source of each limit, and the class that a vehicle fits. Pure.

The table is data: the default is the TOML file beside this module, and a site may keep one of
its own as JSON. A limit printed in two units is two readings of it, since the figures are
roundings of each other; what lies between them is a boundary, for a person to decide.
"""

import re
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import MISSING, asdict, dataclass, fields
from decimal import Decimal, InvalidOperation
from functools import cache
from pathlib import Path

KMH_PER_MPH = Decimal("1.609344")  # exact: NIST SP 811 (2008) App. B.8
KG_PER_LB = Decimal("0.45359237")  # exact: NIST SP 811 (2008) App. B.8
# Two readings further apart are no roundings of one limit; judgement, no source.
MOST_ROUNDING_SHARE = Decimal("0.02")

BOUNDARY = "boundary"
OWN_FILE = Path(__file__).with_name("speed_classes.toml")

BOUNDS = {"limit": ("kmh", "mph"), "over": ("kmh", "mph")}
BOUNDS |= {"most_gross": ("kg", "lb"), "most_payload": ("kg", "lb")}
IN_SI = {"kmh": Decimal(1), "mph": KMH_PER_MPH, "kg": Decimal(1), "lb": KG_PER_LB}
FIGURES = {f"{name}_{unit}" for name, units in BOUNDS.items() for unit in units}
FIGURES_END = 100_000  # a slip of the finger
COUNTS = {"most_persons", "wheels"}
FLAGS = {"limit_is_below", "gross_is_below", "wheels_or_more"}


@dataclass(frozen=True)
class SpeedClass:
    """One class: faster than ``over``, at most ``limit`` (or below it), and what else it asks.

    Each bound stands as its source prints it, in one unit or in both. ``wheels`` is exact
    unless ``wheels_or_more``. ``note`` says how the row was come by.

    Raises ValueError for a row that cannot be meant.
    """

    code: str
    name: str
    source: str
    edition: str
    limit_mph: Decimal | None = None
    limit_kmh: Decimal | None = None
    limit_is_below: bool = False
    over_mph: Decimal | None = None
    over_kmh: Decimal | None = None
    most_gross_lb: Decimal | None = None
    most_gross_kg: Decimal | None = None
    gross_is_below: bool = False
    most_payload_lb: Decimal | None = None
    most_payload_kg: Decimal | None = None
    most_persons: int | None = None
    wheels: int | None = None
    wheels_or_more: bool = False
    note: str = ""

    def __post_init__(self) -> None:
        if not re.fullmatch("[a-z0-9]+(-[a-z0-9]+)*", self.code) or self.code == BOUNDARY:
            raise ValueError(f"code must be small letters, digits and hyphens, not {self.code!r}")
        for name in BOUNDS:
            self._refuse_two_bounds(name)
        limits, overs = self.readings("limit"), self.readings("over")
        if not limits:
            raise ValueError(f"class {self.code}: needs limit_mph or limit_kmh")
        if overs and max(overs) >= min(limits):
            raise ValueError(f"class {self.code}: over must be lower than limit")

    def readings(self, name: str) -> tuple[Decimal, ...]:
        """Return a bound in km/h or kg as each of its units reads, metric first."""
        figures = [(unit, getattr(self, f"{name}_{unit}")) for unit in BOUNDS[name]]
        return tuple(figure * IN_SI[unit] for unit, figure in figures if figure is not None)

    def _refuse_two_bounds(self, name: str) -> None:
        """Refuse a slip of the unit, which would part the readings far."""
        readings = self.readings(name)
        if readings and max(readings) - min(readings) > max(readings) * MOST_ROUNDING_SHARE:
            units = " and ".join(f"{name}_{unit}" for unit in BOUNDS[name])
            raise ValueError(f"class {self.code}: {units} are too far apart to be one limit")


@dataclass(frozen=True)
class Limit:
    """The upper limit of a class in km/h, as its metric and its inch figure read."""

    upper_kmh_metric: Decimal | None
    upper_kmh_inch: Decimal | None
    is_below: bool
    text: str

    @property
    def uppers_kmh(self) -> tuple[Decimal, ...]:
        """Return the readings there are, one at least."""
        both = (self.upper_kmh_metric, self.upper_kmh_inch)
        return tuple(upper_kmh for upper_kmh in both if upper_kmh is not None)


def limits_of(speed_class: SpeedClass) -> Limit:
    """Return the upper limit of a class; 1 mph counts as 1.609344 km/h, exactly."""
    mph, kmh = speed_class.limit_mph, speed_class.limit_kmh
    figures = [f"{figure:f} {unit}" for figure, unit in ((mph, "mph"), (kmh, "km/h")) if figure]
    printed = " ".join([figures[0], *(f"({figure})" for figure in figures[1:])])
    bound = "below" if speed_class.limit_is_below else "at most"
    inch_kmh = None if mph is None else mph * KMH_PER_MPH
    return Limit(kmh, inch_kmh, speed_class.limit_is_below, f"{bound} {printed}")


def classify(
    kmh: Decimal,
    *,
    gross_kg: Decimal,
    wheels: int,
    persons: int,
    classes: Iterable[SpeedClass],
    payload_kg: Decimal | None = None,
) -> str | None:
    """Return the code of the first class that a vehicle fits, "boundary", or None for none.

    Boundary: the first class that the vehicle may fit takes it by one reading of a bound and
    not by the other. ``gross_kg`` is the gross rating; a payload not given is not asked for.
    """
    for speed_class in classes:
        asked = [
            _is_met(speed_class, "limit", kmh, is_below=speed_class.limit_is_below),
            _is_exceeded(speed_class, kmh),
            _is_met(speed_class, "most_gross", gross_kg, is_below=speed_class.gross_is_below),
            payload_kg is None or _is_met(speed_class, "most_payload", payload_kg),
            speed_class.most_persons is None or persons <= speed_class.most_persons,
            _has_wheels(speed_class, wheels),
        ]
        if False not in asked:
            return BOUNDARY if None in asked else speed_class.code
    return None


def _is_met(
    speed_class: SpeedClass, name: str, value: Decimal, *, is_below: bool = False
) -> bool | None:
    """Say whether a value keeps an upper bound; None where its readings part."""
    readings = speed_class.readings(name)
    return _agreed({value < most if is_below else value <= most for most in readings})


def _is_exceeded(speed_class: SpeedClass, kmh: Decimal) -> bool | None:
    return _agreed({kmh > over_kmh for over_kmh in speed_class.readings("over")})


def _agreed(answers: set[bool]) -> bool | None:
    if not answers:
        return True  # nothing is asked
    return answers.pop() if len(answers) == 1 else None


def _has_wheels(speed_class: SpeedClass, wheels: int) -> bool:
    if speed_class.wheels is None:
        return True
    return wheels == speed_class.wheels or (
        speed_class.wheels_or_more and wheels > speed_class.wheels
    )


@cache
def default_classes() -> tuple[SpeedClass, ...]:
    """Return the classes of the file beside this module, narrowest first."""
    return read_classes(OWN_FILE.read_text(encoding="utf-8"))


def read_classes(toml_text: str) -> tuple[SpeedClass, ...]:
    """Return the classes of a TOML text, a table ``[[class]]`` each.

    Raises ValueError that names the class and the key for anything wrong.
    """
    try:
        tables = tomllib.loads(toml_text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"the speed classes are not TOML: {error}") from error
    if set(tables) != {"class"}:
        raise ValueError(f"the speed classes are tables [[class]], not {sorted(tables)}")
    return classes_from_json(tables["class"])


def classes_from_json(rows: Sequence[dict]) -> tuple[SpeedClass, ...]:
    """Return the classes of a site's own table; figures are strings or whole numbers.

    Raises ValueError that names the class and the key for anything wrong.
    """
    if not isinstance(rows, Sequence) or not all(isinstance(row, dict) for row in rows):
        raise ValueError("the speed classes are a list of tables")
    classes = tuple(map(_class, rows))
    codes = [speed_class.code for speed_class in classes]
    for code in codes:
        if codes.count(code) > 1:
            raise ValueError(f"class {code}: stands there twice")
    return classes


def as_json(classes: Iterable[SpeedClass]) -> list[dict]:
    """Return classes as plain values, figures as strings; what a row leaves open is left out."""
    return [
        {
            key: f"{value:f}" if isinstance(value, Decimal) else value
            for key, value in asdict(speed_class).items()
            if value not in (None, False, "")
        }
        for speed_class in classes
    ]


def _class(row: dict) -> SpeedClass:
    name = f"class {row.get('code', '?')}"
    known = {field.name: field.default is MISSING for field in fields(SpeedClass)}
    for key in row:
        if key not in known:
            raise ValueError(f"{name}: {key} is not one of {', '.join(known)}")
    for key in (key for key, is_needed in known.items() if is_needed):
        if not row.get(key):
            raise ValueError(f"{name}: {key} is missing")
    return SpeedClass(**{key: _value(name, key, value) for key, value in row.items()})


def _value(name: str, key: str, value: object) -> object:
    if key in FIGURES:
        return _figure(name, key, value)
    kind = int if key in COUNTS else bool if key in FLAGS else str
    if type(value) is not kind or (kind is int and value < 1):
        words = {int: "a whole number above 0", bool: "true or false", str: "a text"}
        raise ValueError(f"{name}: {key} must be {words[kind]}, not {value!r}")
    return value


def _figure(name: str, key: str, value: object) -> Decimal:
    wrong = ValueError(
        f"{name}: {key} must be a number above 0 and below {FIGURES_END}, not {value!r}"
    )
    if type(value) not in (int, str, Decimal):
        raise wrong  # a float has lost its digits
    try:
        figure = Decimal(value)
    except InvalidOperation:
        raise wrong from None
    if not (figure.is_finite() and 0 < figure < FIGURES_END):
        raise wrong
    return figure
