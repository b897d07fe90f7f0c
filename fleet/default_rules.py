"""The default rule book: the union of what the apps ship, and a book as plain JSON."""

from decimal import Decimal
from pathlib import Path

from fleet.kinds import register
from fleet.rule_files import read_book, rule_from_json, rule_to_json
from fleet.rulebook import Average, Book, merge

OWN_FILE = Path(__file__).with_name("rules.toml")
SOURCE = "common practice, no source"


def default_book() -> Book:
    """Return the union of every app's rules.toml."""
    files = [OWN_FILE, *map(Path, register.rule_files)]
    return merge(read_book(path.read_text(encoding="utf-8"), source=SOURCE) for path in files)


def book_to_json(book: Book) -> dict:
    """Return the book as plain values, decimals as strings."""
    averages = {
        use_class: [str(average.hours_per_day), str(average.metres_per_day)]
        for use_class, average in book.averages.items()
    }
    return {"rules": [rule_to_json(rule) for rule in book.rules], "averages": averages}


def book_from_json(stored: dict) -> Book:
    """Return the book that ``book_to_json`` stored."""
    averages = {
        use_class: Average(Decimal(hours), Decimal(metres))
        for use_class, (hours, metres) in stored["averages"].items()
    }
    return Book(tuple(map(rule_from_json, stored["rules"])), averages)
