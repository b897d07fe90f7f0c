"""A site's table of speed classes, and the class that a cart is held to. No writes.

The table is what the site's last change of it says, or the default; a cart's class is the
one claimed for it, or the site's usual one. Runs carry a copy, so both act forward only.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from fleet.kinds import Cut
from lifts.speed_classes import (
    KMH_PER_MPH,
    Limit,
    SpeedClass,
    classes_from_json,
    default_classes,
    limits_of,
)
from shared.models import Change

TABLE, CLAIM = "speed classes", "speed class"
USUAL, NONE_CLAIMED = "usual", "none"
# codes that a claim says something else with
RESERVED = {USUAL, NONE_CLAIMED}
SOURCE_CHARS = 200


@dataclass(frozen=True)
class ClassTable:
    """The classes of a site; ``usual`` is the code of the class most carts have, or empty.

    ``tags_over``: a cart measured over its class is tagged. ``change`` is the one that
    said it, None for the default.
    """

    classes: tuple[SpeedClass, ...]
    usual: str = ""
    tags_over: bool = False
    change: Change | None = None

    def named(self, code) -> SpeedClass | None:
        return next((one for one in self.classes if one.code == code), None)


def table_at(site_id, cut: Cut, *, but: Change | None = None) -> ClassTable:
    """Return a site's table within a cut, with one query; ``but`` for what one change said."""
    changes = Change.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    said = changes.filter(site_id=site_id, what=TABLE).order_by("received_at", "id")
    last = (said.exclude(pk=but.pk) if but else said).last()
    if last is None:
        return ClassTable(default_classes())
    return table_of(last)


def table_of(change) -> ClassTable:
    said = change.value
    classes = classes_from_json(said["classes"])
    return ClassTable(classes, said["usual"], said["tags_over"], change)


def claims_at(cart_ids: Iterable, cut: Cut) -> dict:
    """Return {cart id: the code last claimed, "usual" or "none"} within a cut, with one query."""
    changes = Change.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    claims = changes.filter(cart_id__in=list(cart_ids), what=CLAIM).order_by("done_at", "id")
    return {change.cart_id: change.value["speed_class"] for change in claims}


def class_claimed(table: ClassTable, claim: str | None) -> SpeedClass | None:
    """Return the class of a claim; None where none is claimed, or the table has it not."""
    return table.named(table.usual if claim in (None, USUAL) else claim)


def copied(table: ClassTable, speed_class: SpeedClass | None) -> dict:
    """Return the values that a speed run carries of the class its cart is held to.

    Without a class they say so: an empty code, where an older run has none at all.
    """
    if speed_class is None:
        return {"class_code": "", "class_name": "", "class_source": "", "tags_over": False}
    limit = limits_of(speed_class)
    return {
        "class_code": speed_class.code,
        "class_name": speed_class.name,
        "class_source": f"{speed_class.source}, {speed_class.edition}"[:SOURCE_CHARS],
        "limit_metric_kmh": limit.upper_kmh_metric,
        "limit_inch_kmh": limit.upper_kmh_inch,
        "limit_is_below": limit.is_below,
        "tags_over": table.tags_over,
    }


def limit_copied(run) -> Limit | None:
    """Return the limit that a run carries; None for no class claimed, or one never asked for."""
    if not run.class_code:
        return None
    return Limit(run.limit_metric_kmh, run.limit_inch_kmh, run.limit_is_below, "")


def limit_said(limit: Limit) -> str:
    """Return a limit as a page says it: "below 20 mph (32 km/h)"."""
    figures = []
    if limit.upper_kmh_inch is not None:
        figures.append(f"{_plain(limit.upper_kmh_inch / KMH_PER_MPH)} mph")
    if limit.upper_kmh_metric is not None:
        figures.append(f"{_plain(limit.upper_kmh_metric)} km/h")
    said = figures[0] + "".join(f" ({figure})" for figure in figures[1:])
    bound = _("below %(limit)s") if limit.is_below else _("at most %(limit)s")
    return bound % {"limit": said}


def _plain(figure):
    return f"{figure.normalize():f}"
