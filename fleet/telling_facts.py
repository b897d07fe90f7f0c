"""Says in words what an entry's body holds; a body is plain JSON, decimals as strings."""

import re
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.kinds import register
from fleet.models import Report
from shared.dates import shown_day
from shared.models import Site
from shared.units import UNITS_OF, shown

CHANGES = {
    "joined": gettext_lazy("Joined the fleet"),
    "moved": gettext_lazy("Came from another site"),
    "moved away": gettext_lazy("Moved to another site"),
    "laid up": gettext_lazy("Laid up"),
    "woken": gettext_lazy("Woken from the lay-up"),
    "left": gettext_lazy("Left the fleet"),
    "tyre size": gettext_lazy("Another tyre size"),
    "tyres before": gettext_lazy("Tyres before a lift, as told with it"),
    "speed class": gettext_lazy("Held to a speed class"),
    "speed classes": gettext_lazy("Another table of speed classes"),
    "started up": gettext_lazy("Started up with an old lift"),
    "told": gettext_lazy("Told, not seen"),
    "told counts": gettext_lazy("Told work counts"),
    "joint": gettext_lazy("A joint was put on the cart’s list"),
    "joint declined": gettext_lazy("A joint was left off the cart’s list"),
    "joint ended": gettext_lazy("A joint was taken off the cart’s list"),
}
# what a plate opens is not for reading, and ids name nothing to a person
NOT_SAID = {"plate", "due_by", "fitting", "joint", "seen"}
NAMES = {"tyre": gettext_lazy("tyres"), "tyre_mm": gettext_lazy("diameter")}
ISO_DAY = re.compile(r"\d{4}-\d\d-\d\d")
OF_JOINT = ("name", "wheel", "thread", "grade", "target_typed", "above_proof")
WORTH_SAYING = ("name", "wheel", "reason", "fitted_by", "firm", "paperwork", "note", "shows")


@dataclass(frozen=True)
class Where:
    """The site whose words are used, and (since when, unit) of the cart's distance meters."""

    site: Site
    distance_units: list[tuple[datetime, str]] = field(default_factory=list)

    def distance_unit(self, at):
        """Return the unit of the meter on the cart at a moment, else the site's own."""
        units = [unit for since, unit in self.distance_units if since <= at]
        return units[-1] if units else UNITS_OF[self.site.units]["distance"]

    def day(self, text):
        return shown_day(date.fromisoformat(text), self.site.date_order)

    def value(self, name, value):
        """Return a value of a change in the site's unit, or a day in its order."""
        if name.endswith("_mm"):
            return shown(Decimal(value), "length", self.site.units, places=1)
        return self.day(value) if ISO_DAY.fullmatch(str(value)) else value


def title_of(model, said):
    """Return what an entry is, such as "Reading" or "Laid up"."""
    if "what" in said:
        return str(CHANGES.get(said["what"], _("Changed: %(what)s") % {"what": said["what"]}))
    parts = {part.model: str(part.title) for part in register.parts.values()}
    return parts.get(model) or capfirst(str(model._meta.verbose_name))


def detail_of(kind, said, where):
    """Return the rest of an entry in a line; empty where the title says it all."""
    tell = _TOLD.get(kind.partition(".")[2], _plain)
    return "; ".join(str(words) for words in tell(said, where) if words)


def _change(said, where):
    if said["what"] == "joint":
        yield from (said["value"].get(name) for name in OF_JOINT)
        yield said["reason"]
        return
    yield from (
        f"{_name(name)}: {where.value(name, value)}"
        for name, value in said["value"].items()
        if name not in NOT_SAID and value not in (None, "", [], {})
    )
    yield said["reason"]


def _name(name):
    """Return what a value of a change is called: a kind of work by its title."""
    if name in register.kinds:
        return register.kinds[name].title
    return NAMES.get(name) or name.replace("_", " ")


def _figure(text):
    return f"{Decimal(text):,.1f}"


def _reading(said, where):
    if said["hours_shown"] is not None:
        yield f"{_figure(said['hours_shown'])} h"
    if said["distance_shown"] is not None:
        unit = where.distance_unit(datetime.fromisoformat(said["done_at"]))
        yield f"{_figure(said['distance_shown'])} {unit}"
    if said["hours_rolled"] or said["distance_rolled"]:
        yield _("the meter rolled over")
    if said["source"] == "estimated":
        yield _("estimated")
    if said["doubted"]:
        yield _("doubted: %(why)s") % {"why": said["doubted"]}


def _meter(said, _where):
    start = f"{_figure(said['start_shown'])} {said['unit']}"
    yield _("%(measure)s from %(start)s") % {"measure": said["measure"], "start": start}
    if said["old_final"] is not None:
        yield _("the old one showed %(figure)s") % {"figure": _figure(said["old_final"])}


def _order(said, where):
    kind = register.kinds.get(said["kind_code"])
    yield kind.title if kind else said["kind_code"]
    yield said["subject"]
    yield _("due %(day)s") % {"day": where.day(said["due_on"])}
    yield said["reason"]


def _tag(said, _where):
    yield said["reason"]
    if said["is_critical"]:
        yield _("critical")
    if said["key_place"]:
        yield _("key: %(place)s") % {"place": said["key_place"]}


def _hand_back(said, _where):
    yield said["done"]
    yield said["drive_note"]
    if said["repaired_by"] == said["by"]:
        yield _("released by the same person")


def _report(said, _where):
    yield Report.Noticed(said["noticed"]).label
    yield said["note"]


def _note(said, _where):
    yield said["text"]


def _plain(said, _where):
    yield from (said[name] for name in WORTH_SAYING if said.get(name))


_TOLD = {
    "change": _change,
    "reading": _reading,
    "meterfitted": _meter,
    "recheckorder": _order,
    "tag": _tag,
    "handback": _hand_back,
    "report": _report,
    "note": _note,
}
