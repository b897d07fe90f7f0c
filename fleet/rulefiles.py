"""The default rule book: the union of what the apps ship."""

from pathlib import Path

from fleet.kinds import register
from fleet.rulebook import book_to_json, read_book

OWN_FILE = Path(__file__).with_name("rules.toml")


def default_rules() -> dict:
    """Return the default rule book as plain JSON, from every app's rules.toml."""
    files = [OWN_FILE, *map(Path, register.rule_files)]
    return book_to_json(read_book([path.read_text(encoding="utf-8") for path in files]))
