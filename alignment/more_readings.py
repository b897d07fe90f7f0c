"""What would settle a "can't tell", in words: how many readings, with which mark."""

from django.utils.translation import gettext, ngettext

from alignment import words
from alignment.asking import INCH_MARKS_MM, asks_for, is_by_gauge

SAME_MM = 1e-3


def wanted(sheet, judged):
    """Return in words what would settle each value that can't be told, where anything would."""
    asks = ((name, asks_for(sheet, judged, name)) for name in judged.unsure)
    return [asked(sheet, name, one) for name, one in asks if one is not None]


def asked(sheet, name, asks):
    """Return one value's ``asks`` in words."""
    said = {"name": words.NAMES[name], "count": asks.count, "mark": mark_said(sheet, name, asks)}
    one_or_more = ngettext(
        "%(name)s: %(count)s reading with marks of %(mark)s would settle it.",
        "%(name)s: %(count)s readings with marks of %(mark)s would settle it.",
        asks.count,
    )
    return words.begun(one_or_more % said)


def settling(sheet, judged, name):
    """Return what would settle one value, or that nothing here would."""
    asks = asks_for(sheet, judged, name)
    if asks is not None:
        return asked(sheet, name, asks)
    return gettext("Too near a limit for any tape or square: only a turn to the middle helps.")


def mark_said(sheet, name, asks):
    if is_by_gauge(sheet, name):
        return f"{asks.mark:g}°"
    for parts, mark_mm in zip((16, 32, 64), INCH_MARKS_MM, strict=True):
        if abs(asks.mark - mark_mm) < SAME_MM:
            return f"1/{parts} in"
    return f"{asks.mark:g} mm"
