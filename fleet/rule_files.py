"""Rules as people write them (TOML) and as a version of a book stores them (JSON). Pure.

In TOML a limit is a table of ``days``, ``h`` and one of ``mi`` or ``km``. In JSON hours
and metres are strings, so that no digit is lost.
"""

import tomllib
from dataclasses import fields
from decimal import Decimal

from fleet.layup import LayUpLimits
from fleet.reach import Limits
from fleet.rulebook import OPENS_AT_ONCE, Average, Book, Leeway, Rule

METRES_A_MILE = Decimal("1609.344")  # exact: NIST SP 811, B.8
METRES_A_KM = Decimal(1000)

LIMIT_KEYS = {"days", "h", "mi", "km"}
LEEWAY_KEYS = LIMIT_KEYS | {"percent", "max_days"}
LIMIT_FIELDS = ("every", "stop", "stop_needs")
LIST_FIELDS = ("starts", "use_classes", "kits", "takes_over")
FLAG_FIELDS = ("settles", "fixed", "unless_done", "keeps_first", "lifted_only")
TEXT_FIELDS = ("code", "kind", "stop_from", "source", "rank")
RULE_KEYS = {
    *("ladder", "opens", "leeway"),
    *LIMIT_FIELDS,
    *LIST_FIELDS,
    *FLAG_FIELDS,
    *TEXT_FIELDS,
}


def read_rules(toml_text: str, *, source: str) -> tuple[Rule, ...]:
    """Return the rules of a TOML text, ``source`` being theirs where they name none.

    Raises ValueError that names the rule and the key for anything unknown or missing.
    """
    return _rules(_tables(toml_text), source)


def read_averages(toml_text: str) -> dict[str, Average]:
    """Return the daily use of each use class from the tables ``[average.CLASS]``."""
    return _averages(_tables(toml_text))


def read_lay_up_limits(toml_text: str) -> LayUpLimits:
    """Return the table ``[lay_up]``: ``longest_days``, and the use in ``void`` that ends it."""
    return _lay_up_limits(_tables(toml_text))


def read_book(toml_text: str, *, source: str) -> Book:
    """Return the rules, averages and lay-up limits of a TOML text as a book."""
    tables = _tables(toml_text)
    return Book(_rules(tables, source), _averages(tables), lay_up=_lay_up_limits(tables))


def _rules(tables: dict, source: str) -> tuple[Rule, ...]:
    return tuple(_rule({"source": source, **table}) for table in tables.get("rule", []))


def _averages(tables: dict) -> dict[str, Average]:
    return {use: _average(use, table) for use, table in tables.get("average", {}).items()}


def _lay_up_limits(tables: dict) -> LayUpLimits:
    table = tables.get("lay_up", {})
    _refuse_unknown("lay_up", table, {"longest_days", "void"})
    if "longest_days" not in table:
        return LayUpLimits()
    void = _limits("lay_up: void", table.get("void", {}))
    if void.hours is None or void.metres is None:
        raise ValueError("lay_up: void needs h and a distance")
    return LayUpLimits(
        _whole("lay_up: longest_days", table["longest_days"]), void.hours, void.metres
    )


def _tables(toml_text: str) -> dict:
    try:
        tables = tomllib.loads(toml_text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"the rules are not TOML: {error}") from error
    _refuse_unknown("the rules", tables, {"rule", "average", "lay_up"})
    return tables


def _rule(table: dict) -> Rule:
    name = f"rule {table.get('code', '?')}"
    _refuse_unknown(name, table, RULE_KEYS)
    for key in ("code", "kind", "starts"):
        if key not in table:
            raise ValueError(f"{name}: {key} is missing")
    given = {key: _text(f"{name}: {key}", table[key]) for key in TEXT_FIELDS if key in table}
    given |= {key: _texts(f"{name}: {key}", table[key]) for key in LIST_FIELDS if key in table}
    given |= {key: _flag(f"{name}: {key}", table[key]) for key in FLAG_FIELDS if key in table}
    given |= {key: _limits(f"{name}: {key}", table[key]) for key in LIMIT_FIELDS if key in table}
    return Rule(
        ladder=tuple(_limits(f"{name}: ladder", step) for step in table.get("ladder", ())),
        opens=_opens(name, table.get("opens")),
        leeway=_leeway(name, table.get("leeway", {})),
        **given,
    )


def _average(use_class: str, table: dict) -> Average:
    limits = _limits(f"average {use_class}", table)
    if limits.days is not None or not limits.hours or not limits.metres:
        raise ValueError(f"average {use_class}: needs h and a distance, both above 0, a day")
    return Average(limits.hours, limits.metres)


def _opens(name: str, value: object) -> Limits | str | None:
    if value is None or value == OPENS_AT_ONCE:
        return value
    if isinstance(value, str):
        raise ValueError(f"{name}: opens is {OPENS_AT_ONCE!r} or a limit, not {value!r}")
    return _limits(f"{name}: opens", value)


def _leeway(name: str, table: object) -> Leeway:
    name = f"{name}: leeway"
    amounts = _limits(name, table, LEEWAY_KEYS)
    shares = {
        key: _whole(f"{name}: {key}", table[key]) for key in ("percent", "max_days") if key in table
    }
    if "percent" in shares and amounts:
        raise ValueError(f"{name}: give a percentage or amounts, not both")
    if "max_days" in shares and "percent" not in shares:
        raise ValueError(f"{name}: max_days cuts a percentage off, and none is given")
    return Leeway(amounts.days, amounts.hours, amounts.metres, **shares)


def _limits(name: str, table: object, known: set[str] = LIMIT_KEYS) -> Limits:
    if not isinstance(table, dict):
        raise ValueError(f"{name}: a limit is a table of days, h, mi or km, not {table!r}")
    _refuse_unknown(name, table, known)
    if "mi" in table and "km" in table:
        raise ValueError(f"{name}: give mi or km, not both")
    days = _whole(f"{name}: days", table["days"]) if "days" in table else None
    hours = _number(f"{name}: h", table["h"]) if "h" in table else None
    return Limits(days, hours, _metres(name, table))


def _metres(name: str, table: dict) -> Decimal | None:
    if "mi" in table:
        return _number(f"{name}: mi", table["mi"]) * METRES_A_MILE
    return _number(f"{name}: km", table["km"]) * METRES_A_KM if "km" in table else None


def _refuse_unknown(name: str, table: dict, known: set[str]) -> None:
    for key in table:
        if key not in known:
            raise ValueError(f"{name}: {key!r} is none of {', '.join(sorted(known))}")


def _number(name: str, value: object) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        raise ValueError(f"{name} must be a number, not {value!r}")
    number = Decimal(value)
    if not number.is_finite() or number < 0:
        raise ValueError(f"{name} must be a number from 0 up, not {value!r}")
    return number


def _whole(name: str, value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError(f"{name} must be a whole number from 0 up, not {value!r}")
    return value


def _text(name: str, value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{name} must be a text, not {value!r}")
    return value


def _flag(name: str, value: object) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"{name} must be true or false, not {value!r}")
    return value


def _texts(name: str, value: object) -> tuple[str, ...]:
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise ValueError(f"{name} must be a list of texts, not {value!r}")
    return tuple(value)


def rule_to_json(rule: Rule) -> dict:
    """Return the rule as plain values; what is left at its default is left out."""
    return {
        one.name: _plain(getattr(rule, one.name))
        for one in fields(rule)
        if one.name in ("code", "kind", "starts") or getattr(rule, one.name) != one.default
    }


def _plain(value: object) -> object:
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    if isinstance(value, Limits | Leeway):
        parts = {one.name: getattr(value, one.name) for one in fields(value)}
        return {name: _plain(part) for name, part in parts.items() if part is not None}
    return str(value) if isinstance(value, Decimal) else value


def rule_from_json(stored: dict) -> Rule:
    """Return the rule that ``rule_to_json`` stored; ValueError for an unknown key."""
    _refuse_unknown(f"rule {stored.get('code', '?')}", stored, RULE_KEYS)
    given = dict(stored)
    given |= {key: tuple(stored[key]) for key in LIST_FIELDS if key in stored}
    given |= {key: _amounts(stored[key]) for key in LIMIT_FIELDS if key in stored}
    if "ladder" in stored:
        given["ladder"] = tuple(_amounts(step) for step in stored["ladder"])
    if isinstance(stored.get("opens"), dict):
        given["opens"] = _amounts(stored["opens"])
    if "leeway" in stored:
        given["leeway"] = Leeway(**_exact(stored["leeway"]))
    return Rule(**given)


def _amounts(stored: dict) -> Limits:
    return Limits(**_exact(stored))


def _exact(stored: dict) -> dict:
    return {name: Decimal(part) if isinstance(part, str) else part for name, part in stored.items()}
