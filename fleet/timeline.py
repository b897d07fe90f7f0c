"""Everything that happened to a cart, from its journal entries, newest first."""

import json
from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID

from django.apps import apps
from django.utils.translation import gettext as _

from fleet.lateness import is_written_late, tells_of
from fleet.models import MeterFitted, Round
from fleet.softened import Softened, softened_on
from fleet.standing import EVERYTHING
from fleet.taking_back import stands_alone
from fleet.telling_facts import Where, detail_of, title_of
from fleet.tellings import first_entries
from shared.models import Entry, Person, Strike

ITEMS_A_PAGE = 40
LAST_OF_A_SECOND = timedelta(microseconds=999_999)


@dataclass(frozen=True)
class TakenBack:
    """By whom, when and why an entry was struck, or corrected by a later one.

    ``is_since``: only after the moment of which a past page tells.
    """

    is_struck: bool
    by: str
    at: datetime
    why: str
    is_since: bool = False


@dataclass(frozen=True)
class Item:
    """One entry in words. ``taken_back`` is None while it stands.

    ``round_id`` is that of the round of which it is a part, or that it is. ``done_by`` is
    who told it first, at ``told_at``; ``softened`` are its verdicts that turned better.
    ``is_day_only``: of its day no time was told.
    """

    fact_id: str
    round_id: str
    title: str
    detail: str
    done_at: datetime
    by: str
    done_by: str
    told_at: datetime
    corrects: bool
    is_brought_in: bool
    received_at: datetime
    is_round: bool
    stands_alone: bool
    taken_back: TakenBack | None
    is_day_only: bool = False
    softened: tuple[Softened, ...] = ()

    @property
    def is_written_late(self):
        return is_written_late(self.done_at, self.told_at, self.is_brought_in)

    @property
    def then(self):
        """The moment from which on it had happened, to the second, as a past page reads it."""
        return f"{self.done_at + LAST_OF_A_SECOND:%Y-%m-%dT%H:%M:%SZ}"


def entries_of(cart):
    """Return the cart's entries as they arrived, the last one first."""
    entries = Entry.objects.filter(cart_id=cart.pk).exclude(kind=Strike.kind())
    return entries.order_by("-received_at", "-seq", "-id")


def entries_within(cart, cut, site_ids):
    """Return the entries of a cart at these sites that lie within a cut, newest first."""
    known = entries_of(cart).filter(received_at__lte=cut.known_by, site_id__in=site_ids)
    return [entry for entry in known if _done_at(_said(entry)) <= cut.happened_by]


def _said(entry):
    return json.loads(bytes(entry.body))


def _done_at(said):
    return datetime.fromisoformat(said["done_at"])


def _came_at(entry, said):
    return min(datetime.fromisoformat(said["written_at"]), entry.received_at)


def items_of(entries, cart, cut=EVERYTHING):
    """Return the items of a cart's entries, with as many queries however many there are.

    ``cut`` is that of a past page: what was known after it took nothing back.
    """
    entries = list(entries)
    answers = Entry.objects.filter(corrects__in=[entry.fact_id for entry in entries])
    answers = answers.filter(received_at__lte=cut.known_by)
    answers = {entry.corrects: entry for entry in answers}
    first = {entry.fact_id: entry for entry in entries} | first_entries(entries)
    told = (*entries, *answers.values(), *first.values())
    bodies = {entry.pk: _said(entry) for entry in told}
    people = Person.objects.in_bulk({body["by"] for body in bodies.values()})
    names = {str(person.pk): person.name for person in people.values()}
    where = _where(cart, cut)
    items = [
        _item(entry, first[entry.fact_id], answers.get(entry.fact_id), bodies, names, where)
        for entry in entries
    ]
    items = [_as_of(item, cut) for item in items]
    return _folded(_marked(items, cart, cut) if answers else items)


def _marked(items, cart, cut):
    """Mark the items of which a correction turned a verdict better."""
    softened = defaultdict(list)
    for one in softened_on([cart.pk], cut):
        softened[one.entry].append(one)
    return [replace(item, softened=tuple(softened[UUID(item.fact_id)])) for item in items]


def _as_of(item, cut):
    taken_back = item.taken_back
    if not taken_back or taken_back.at <= cut.happened_by:
        return item
    return replace(item, taken_back=replace(taken_back, is_since=True))


def _where(cart, cut):
    fitted = MeterFitted.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    fitted = fitted.filter(cart_id=cart.pk, measure=MeterFitted.Measure.DISTANCE)
    units = fitted.order_by("done_at", "received_at").values_list("done_at", "unit")
    return Where(cart.site, list(units))


def _folded(items):
    """Say the standing parts of a round in its own item, where both are on the page."""
    rounds = {item.fact_id for item in items if item.is_round}
    parts = defaultdict(list)
    kept = []
    for item in items:
        if item.round_id in rounds and not item.is_round and not item.taken_back:
            parts[item.round_id].append(item.title)
        else:
            kept.append(item)
    return [_with_parts(item, parts[item.fact_id]) if item.is_round else item for item in kept]


def _with_parts(item, titles):
    return replace(item, detail="; ".join([*reversed(titles), *filter(None, [item.detail])]))


def _item(entry, first, answer, bodies, names, where):
    said = bodies[entry.pk]
    done_at = datetime.fromisoformat(said["done_at"])
    came_at = _came_at(first, bodies[first.pk])
    first_tells = tells_of(done_at, came_at)
    return Item(
        fact_id=str(entry.fact_id),
        round_id=said.get("round") or "",
        title=title_of(apps.get_model(entry.kind), said),
        detail=detail_of(entry.kind, said, where),
        done_at=done_at,
        by=names.get(said["by"], _("not known")),
        done_by=names.get(bodies[first.pk]["by"], _("not known")),
        told_at=came_at if first_tells else _came_at(entry, said),
        corrects=entry.corrects is not None,
        is_brought_in=said["brought_in"],
        received_at=entry.received_at,
        is_round=entry.kind == Round.kind(),
        stands_alone=stands_alone(entry.kind, said),
        taken_back=answer and _taken_back(answer, bodies[answer.pk], names),
        is_day_only=said.get("day_only", False),
    )


def _taken_back(answer, said, names):
    return TakenBack(
        is_struck=answer.kind == Strike.kind(),
        by=names.get(said["by"], _("not known")),
        at=answer.received_at,
        why=said["why_corrected"],
    )
