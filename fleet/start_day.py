"""How far ahead a site's start day may lie: old lifts fall due only from it on."""

from datetime import timedelta

from django.utils.translation import gettext as _

from shared.dates import shown_day

MOST_AHEAD = timedelta(days=365)


def too_far(day, site, today) -> str:
    """Say why a start day is too far ahead, and which may be; empty for one that may."""
    last = today + MOST_AHEAD
    if day is None or day <= last:
        return ""
    said = _(
        "The start day %(day)s is more than a year ahead: until then no old lift would fall due. "
        "Give one up to %(last)s."
    )
    order = site.date_order
    return said % {"day": shown_day(day, order), "last": shown_day(last, order)}
