"""Says in words what an entry's body holds; a body is plain JSON, decimals as strings."""

from decimal import Decimal

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.kinds import register
from fleet.models import Report

CHANGES = {
    "joined": gettext_lazy("Joined the fleet"),
    "moved": gettext_lazy("Came from another site"),
    "moved away": gettext_lazy("Moved to another site"),
    "laid up": gettext_lazy("Laid up"),
    "woken": gettext_lazy("Woken from the lay-up"),
    "left": gettext_lazy("Left the fleet"),
    "tyre size": gettext_lazy("Another tyre size"),
    "started up": gettext_lazy("Started up with an old lift"),
    "told": gettext_lazy("Told, not seen"),
    "told counts": gettext_lazy("Told work counts"),
}
# what a plate opens is not for reading, and ids name nothing to a person
NOT_SAID = {"plate", "due_by", "fitting"}
WORTH_SAYING = ("wheel", "reason", "fitted_by", "firm", "paperwork", "note", "shows")


def title_of(model, said):
    """Return what an entry is, such as "Reading" or "Laid up"."""
    if "what" in said:
        return str(CHANGES.get(said["what"], _("Changed: %(what)s") % {"what": said["what"]}))
    parts = {part.model: str(part.title) for part in register.parts.values()}
    return parts.get(model) or capfirst(str(model._meta.verbose_name))


def detail_of(kind, said):
    """Return the rest of an entry in a line; empty where the title says it all."""
    tell = _TOLD.get(kind.partition(".")[2], _plain)
    return "; ".join(str(words) for words in tell(said) if words)


def _change(said):
    yield from (
        f"{name.replace('_', ' ')}: {value}"
        for name, value in said["value"].items()
        if name not in NOT_SAID and value not in (None, "", [], {})
    )
    yield said["reason"]


def _figure(text):
    return f"{Decimal(text):,.1f}"


def _reading(said):
    if said["hours_shown"] is not None:
        yield f"{_figure(said['hours_shown'])} h"
    if said["distance_shown"] is not None:
        yield _("distance %(figure)s") % {"figure": _figure(said["distance_shown"])}
    if said["hours_rolled"] or said["distance_rolled"]:
        yield _("the meter rolled over")
    if said["source"] == "estimated":
        yield _("estimated")
    if said["doubted"]:
        yield _("doubted: %(why)s") % {"why": said["doubted"]}


def _meter(said):
    start = f"{_figure(said['start_shown'])} {said['unit']}"
    yield _("%(measure)s from %(start)s") % {"measure": said["measure"], "start": start}
    if said["old_final"] is not None:
        yield _("the old one showed %(figure)s") % {"figure": _figure(said["old_final"])}


def _order(said):
    kind = register.kinds.get(said["kind_code"])
    yield kind.title if kind else said["kind_code"]
    yield said["subject"]
    yield _("due %(day)s") % {"day": said["due_on"]}
    yield said["reason"]


def _tag(said):
    yield said["reason"]
    if said["is_critical"]:
        yield _("critical")
    if said["key_place"]:
        yield _("key: %(place)s") % {"place": said["key_place"]}


def _hand_back(said):
    yield said["done"]
    yield said["drive_note"]
    if said["repaired_by"] == said["by"]:
        yield _("released by the same person")


def _report(said):
    yield Report.Noticed(said["noticed"]).label
    yield said["note"]


def _note(said):
    yield said["text"]


def _plain(said):
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
