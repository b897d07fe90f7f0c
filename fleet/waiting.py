"""The rounds that wait for a manager's countersign. No writes."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from fleet.lateness import days_late
from fleet.models import Round, WaitingRound
from fleet.tellings import first_tellings
from shared.models import Person

MOST_SHOWN = 20


@dataclass(frozen=True)
class Waiting:
    """A round written too late, with who did it, when, and how many days later it came."""

    id: UUID
    cart_id: UUID
    number: str
    by: Person
    done_at: datetime
    days: int


def waiting_at(viewer, site):
    """Return (how many rounds wait at the site, the oldest of them)."""
    rows = WaitingRound.objects.visible_to(viewer).filter(site=site)
    shown = list(rows.select_related("cart")[: MOST_SHOWN + 1])
    if not shown:
        return 0, []
    rounds = list(Round.objects.filter(pk__in=[row.pk for row in shown]))
    first = {row.pk: row for row in rounds} | first_tellings(rounds)
    people = Person.objects.in_bulk({row.by_id for row in first.values()})
    count = len(shown) if len(shown) <= MOST_SHOWN else rows.count()
    told = ((row, people[first[row.pk].by_id]) for row in shown[:MOST_SHOWN])
    return count, [_waiting(row, by, site) for row, by in told]


def _waiting(row, by, site):
    days = days_late(site.day(row.done_at), site.day(row.told_at))
    return Waiting(row.pk, row.cart_id, row.cart.number, by, row.done_at, days)
