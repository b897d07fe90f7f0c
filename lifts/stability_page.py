"""What the stability page says: its rows, and its drawing with the words in it. No writes."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.safestring import mark_safe
from django.utils.translation import gettext as _

from lifts.stability_drawing import Panel, rear_view
from lifts.stances import Compared
from shared.units import shown


@dataclass(frozen=True)
class Row:
    """One state with one load, in words."""

    state: str
    load: str
    cg: str
    track: str
    ssf: str
    tip: str


def rows_of(found: Compared, units: str) -> list[Row]:
    """Return the table's rows: before and now, empty and seated."""
    return [
        Row(
            state,
            load,
            length(steadiness.cg_mm, units),
            length(stance.track_mm, units),
            f"{steadiness.ssf:.3f}",
            f"{steadiness.tip_deg:.1f}°",
        )
        for state, stance in _states(found)
        for load, steadiness in _loads(stance)
    ]


def _states(found):
    if found.before:
        yield found.earlier, found.before
    if found.now:
        yield _("now"), found.now


def _loads(stance):
    yield _("empty"), stance.empty
    if stance.seated:
        yield _("people seated"), stance.seated


def length(mm: float, units: str) -> str:
    places = 1 if units == "inch" else 0
    return shown(Decimal(mm), "length", units, places=places)


def drawn(found: Compared, cart) -> str:
    """Return the drawing, empty where nothing can be computed."""
    panels = [
        Panel(state, stance, tyre_mm, *_words(stance, cart.site.units))
        for (state, stance), tyre_mm in zip(_states(found), found.tyres_mm, strict=True)
    ]
    if not panels:
        return ""
    title = _("Cart %(cart)s from behind, to scale") % {"cart": cart.number}
    told = "; ".join(
        f"{row.state}, {row.load}: {row.cg}, {row.tip}" for row in rows_of(found, cart.site.units)
    )
    return mark_safe(rear_view(panels, title=title, told=told))


def _words(stance, units):
    return [
        f"{load}: {length(steadiness.cg_mm, units)}, {steadiness.tip_deg:.1f}°"
        for load, steadiness in _loads(stance)
    ]
