"""Rows that repeat what changes of the register say, and where they say something else.

A site, its people's roles and its rule books. Carts and rechecks are compared by
``fleet.actions.project.differences``; apps add their own to ``register.told_rows``.
"""

from collections.abc import Iterator
from datetime import date
from uuid import UUID

from fleet.kinds import register
from fleet.lateness import arrival_of
from fleet.models import RuleBook
from shared.models import Change, Membership, Site

Told = tuple[UUID | None, str]


def differences(site) -> Iterator[Told]:
    """Yield (the change, what its row says otherwise); no change where none tells of a row."""
    yield from _of_site(site)
    yield from _of_roles(site)
    yield from _of_books(site)
    for told in register.told_rows:
        yield from told(site)


def compared(change_id, row, wanted) -> Iterator[Told]:
    """Yield what a row says otherwise than the values that are wanted of it."""
    if row is None:
        yield change_id, "its row is missing"
        return
    other = sorted(name for name, value in wanted.items() if getattr(row, name) != value)
    if other:
        yield change_id, f"its row says something else ({', '.join(other)})"


def _changes(site, what):
    return Change.objects.filter(site=site, what=what).order_by("received_at", "id")


def _of_site(site):
    last = _changes(site, "site").last()
    if last is not None:
        start_day = last.value["start_day"]
        wanted = last.value | {"start_day": start_day and date.fromisoformat(start_day)}
        yield from compared(last.pk, Site.objects.get(pk=site.pk), wanted)


def _of_roles(site):
    last = {change.person_id: change for change in _changes(site, "role")}
    rows = {row.person_id: row for row in Membership.objects.filter(site=site)}
    for person_id, change in last.items():
        days = {name: change.value[name] for name in ("from_day", "to_day")}
        days = {name: day and date.fromisoformat(day) for name, day in days.items()}
        # one told before there was such a mark says nothing of it
        wanted = {"is_above": False} | change.value | days
        yield from compared(change.pk, rows.get(person_id), wanted)
    for person_id in rows.keys() - last.keys():
        yield None, f"no change tells of the role of {person_id}"


def _of_books(site):
    rows = RuleBook.objects.filter(site=site).in_bulk()
    for version, change in enumerate(_changes(site, "rule book"), start=1):
        row = rows.pop(change.pk, None)
        wanted = {
            "version": version,
            "in_force_from": _begins_at(change, row),
            "rules": change.value,
            "reason": change.reason,
        }
        yield from compared(change.pk, row, wanted)
    for pk in rows:
        yield None, f"no change tells of the rule book {pk}"


def _begins_at(change, row):
    # a row of an earlier release begins when its change is said to have arrived
    if row is not None and row.in_force_from == change.received_at:
        return change.received_at
    return arrival_of(change)
