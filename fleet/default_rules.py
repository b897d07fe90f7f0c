"""The default rule book: the union of what the apps ship, and a book as plain JSON."""

from decimal import Decimal
from functools import cache
from pathlib import Path

from fleet.kinds import register
from fleet.layup import DEFAULT_LIMITS, LayUpLimits
from fleet.rule_files import read_book, rule_from_json, rule_to_json
from fleet.rulebook import Average, Book, Rule, merge

OWN_FILE = Path(__file__).with_name("rules.toml")
SOURCE = "common practice, no source"


def default_book() -> Book:
    """Return the union of every app's rules.toml."""
    return _union((OWN_FILE, *map(Path, register.rule_files)))


@cache
def _union(files: tuple[Path, ...]) -> Book:
    return merge(read_book(path.read_text(encoding="utf-8"), source=SOURCE) for path in files)


def not_in(book: Book) -> tuple[Rule, ...]:
    """Return the default rules that a book knows nothing of: those of a later release."""
    return tuple(rule for rule in default_book().rules if rule.code not in book.by_code)


def book_to_json(book: Book) -> dict:
    """Return the book as plain values, decimals as strings."""
    averages = {
        use_class: [str(average.hours_per_day), str(average.metres_per_day)]
        for use_class, average in book.averages.items()
    }
    return {
        "rules": [rule_to_json(rule) for rule in book.rules],
        "averages": averages,
        "lay_up": {
            "longest_days": book.lay_up.longest_days,
            "void_hours": str(book.lay_up.void_hours),
            "void_metres": str(book.lay_up.void_metres),
        },
    }


def book_from_json(stored: dict) -> Book:
    """Return the book that ``book_to_json`` stored; older ones say nothing of lay-ups."""
    averages = {
        use_class: Average(Decimal(hours), Decimal(metres))
        for use_class, (hours, metres) in stored["averages"].items()
    }
    rules = tuple(map(rule_from_json, stored["rules"]))
    return Book(rules, averages, lay_up=_lay_up(stored.get("lay_up")))


def _lay_up(stored: dict | None) -> LayUpLimits:
    if stored is None:
        return DEFAULT_LIMITS
    void = Decimal(stored["void_hours"]), Decimal(stored["void_metres"])
    return LayUpLimits(stored["longest_days"], *void)
