"""Work told when a lift was brought in: nobody here saw it, and a manager may let it count."""

from dataclasses import dataclass
from datetime import date
from uuid import UUID, uuid5

from django.utils.translation import gettext_lazy as _

from fleet.gather import TOLD_COUNTS
from fleet.tellings import tellings_of
from lifts.importing_known import TOLD
from shared.models import Change

# by the list's column: the kind of work, and what its last day is called
WORK = {
    "last_torque": ("joint-round", _("last joint check")),
    "last_grease": ("grease-round", _("last grease")),
    "last_alignment": ("camber-toe", _("last camber and toe")),
    "last_label": ("label-check", _("last label check")),
}


@dataclass(frozen=True)
class ToldDay:
    """The last day of a kind of work as it was told; ``counted`` lets it count, if it does.

    Work from before its lift was fitted is nothing of that lift.
    """

    kind: str
    words: str
    day: date
    fitting_id: UUID
    is_before_lift: bool
    counted: Change | None = None


def told_days(fitting, cut) -> list[ToldDay]:
    """Return what was told last of a fitting, with one query."""
    changes = Change.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    changes = changes.filter(cart_id=fitting.cart_id, what__in=(TOLD, TOLD_COUNTS))
    names = {str(told.pk) for told in tellings_of(fitting)}
    ours = [
        change
        for change in changes.select_related("by").order_by("done_at", "id")
        if change.value.get("fitting") in names
    ]
    said = next((change.value for change in reversed(ours) if change.what == TOLD), {})
    counted = {
        item: change for change in ours if change.what == TOLD_COUNTS for item in _items(change)
    }
    # the list gave the day of fitting where the id was made from it
    is_day_known = str(uuid5(fitting.cart_id, "fitting|unknown")) not in names
    first_day = fitting.site.day(fitting.done_at) if is_day_known else date.min
    return [
        _told_day(fitting, first_day, *WORK[name], said[name], counted)
        for name in WORK
        if name in said
    ]


def _items(change):
    return [item for item in change.value.items() if item[0] != "fitting"]


def _told_day(fitting, first_day, kind, words, said, counted):
    day = date.fromisoformat(said)
    return ToldDay(kind, words, day, fitting.pk, day < first_day, counted.get((kind, said)))
