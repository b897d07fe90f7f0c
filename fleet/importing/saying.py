"""What importers say of values: sentences of two columns' worth, numbers as written. Pure."""

from decimal import Decimal

from fleet.sheet_words import gettext_noop as _
from fleet.sheets import Words

FROM_TO = _("%(column)s: %(old)s → %(new)s")
FILLED = _("%(column)s: %(new)s")


def plain_number(value: Decimal) -> str:
    """Return a number without zeros that say nothing: "1,850", "412.5"."""
    text = f"{value:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def changed(column: str, old: object, new: object) -> Words:
    """Say that a value becomes another, or is filled in where there was none."""
    if old in (None, ""):
        return Words(FILLED, {"column": column, "new": str(new)})
    return Words(FROM_TO, {"column": column, "old": str(old), "new": str(new)})
