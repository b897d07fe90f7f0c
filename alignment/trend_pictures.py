"""Camber and toe of sheets over time, drawn with their words. No writes."""

from collections.abc import Sequence

from django.utils.safestring import mark_safe
from django.utils.translation import gettext

from alignment import trend_drawing, words
from alignment.counting import CAMBERS, TOE
from alignment.geometry import toe_total_deg
from alignment.signs import signed_deg
from alignment.told_sheets import ToldSheet
from shared.dates import shown_day


def camber_drawing(by_time: Sequence[ToldSheet], site, *, found_only: bool = False) -> str:
    """Return both wheels' camber over time, on the limits of the newest sheet."""
    if not any(name in one.last.results for one in by_time for name in CAMBERS):
        return ""
    limits = by_time[-1].sheet.limits
    return _drawn(
        [_series(by_time, name, site, found_only) for name in CAMBERS],
        between=(limits.camber_low_deg, limits.camber_high_deg),
        title=gettext("Camber over time, in degrees"),
        key="camber-trend",
    )


def toe_drawing(by_time: Sequence[ToldSheet], site, *, found_only: bool = False) -> str:
    """Return the total toe over time as an angle, which compares across tyres."""
    series = _series(by_time, TOE, site, found_only)
    if not series.readings:
        return ""
    last = next(one for one in reversed(by_time) if one.sheet.diameter_mm)
    limits = last.sheet.limits
    low, high = (
        toe_total_deg(max(0.0, mm), last.sheet.diameter_mm)
        for mm in (limits.toe_low_mm, limits.toe_high_mm)
    )
    title = gettext("Toe over time, the angle between both wheels in degrees")
    return _drawn([series], between=(low, high), title=title, key="toe-trend")


def _series(by_time, name, site, found_only):
    readings = [
        reading for one in by_time for reading in _readings(one, name, site, found_only=found_only)
    ]
    return trend_drawing.Series(str(words.NAMES[name]), readings, is_joined=not found_only)


def _readings(told, name, site, *, found_only):
    day = site.day(told.fact.done_at)
    stages = [(told.found, False)] if found_only else [(told.found, False), (told.left, True)]
    for judged, is_left in stages:
        angle = told.angle(name, judged)
        if angle is not None:
            label = shown_day(day, site.date_order)
            yield trend_drawing.Reading(day, angle.value, angle.expanded, is_left, label)


def _drawn(series, *, between, title, key):
    low, high = between
    said = trend_drawing.Words(
        title=title,
        told=_told(series, low, high),
        as_found=gettext("as found"),
        as_left=gettext("as left"),
        nothing=gettext("nothing measured"),
        beyond=gettext("An arrow: farther out than the scale goes."),
    )
    drawn = trend_drawing.trend(series, low=low, high=high, figure=signed_deg, words=said, key=key)
    # made by this server alone, its words escaped
    return mark_safe(drawn)


def _told(series, low, high):
    """Tell the drawing to who cannot see it: the limits, and the newest figure of each."""
    limits = gettext("Limits %(low)s to %(high)s.") % {
        "low": signed_deg(low),
        "high": signed_deg(high),
    }
    last = [
        f"{one.name}: {spread_said(one.readings[-1].value, one.readings[-1].expanded or 0)}"
        for one in series
        if one.readings
    ]
    return " ".join([limits, gettext("Newest: %s.") % "; ".join(last)])


def spread_said(deg: float, expanded: float) -> str:
    return f"{signed_deg(deg)} ± {expanded:.2f}°"
