"""Who lacks a notice of the stage that a recheck newly stands in. No writes.

PostgreSQL finds them itself, for many sites at a time; elsewhere Python does.
"""

from collections import defaultdict
from datetime import date
from typing import NamedTuple
from uuid import UUID

from django.db.models import Q

from fleet.due import state_on
from fleet.models import Notice
from fleet.reminding import AT_REST, BEGAN_WITHIN, Stage, rechecks_at

SITES_A_LOOK = 50
ABOUTS_A_LOOK = 500
# the gravest first, as state_on has it
STAGE_OF_DATE = {
    "stops_on": Stage.STOPPED,
    "late_on": Stage.LATE,
    "due_on": Stage.DUE,
    "opens_on": Stage.OPEN,
}
DATE_OF_STAGE = {stage: name for name, stage in STAGE_OF_DATE.items()}
TOLD_OF = {stage: (stage,) for stage in DATE_OF_STAGE} | {
    Stage.STOPPED: (Stage.STOPPED, Stage.ABOVE)
}


class Lack(NamedTuple):
    """A notice that a person is to have and has not: what about, of which stage and day."""

    about: UUID
    cart_id: UUID | None
    stage: str
    day: date
    person_id: UUID


def alike(days):
    """Yield sites whose days are alike, few at a time: what ``asked_of`` takes."""
    by_day = defaultdict(list)
    for here in days.values():
        by_day[here.today, _after(here)].append(here)
    for some in by_day.values():
        for start in range(0, len(some), SITES_A_LOOK):
            yield some[start : start + SITES_A_LOOK]


def _after(here):
    return max(here.today - BEGAN_WITHIN, here.told_until)


def _told(here):
    """Yield (state of a recheck, stage to tell of it, id of a person who is told)."""
    for state, stages in TOLD_OF.items():
        for stage in stages:
            yield from ((state, stage, row.person_id) for row in here.told(stage))


def _cases(what):
    """Return SQL for what holds of the gravest date that a recheck has reached."""
    cases = (f"WHEN r.{name} <= %(today)s THEN {what(name)}" for name in STAGE_OF_DATE)
    return f"CASE {' '.join(cases)} END"


def lacks_sql(at_sites) -> str:
    """Return the query for what people lack at the sites of a condition on ``r.site_id``.

    OFFSET 0: one look by the unique key for each pair, never a scan of all notices.
    """
    return f"""
        WITH told AS (
            SELECT * FROM unnest(%(sites)s::uuid[], %(states)s::text[], %(stages)s::text[],
                %(people)s::uuid[]) AS t (site_id, state, stage, person_id)
        ), stood AS (
            SELECT r.site_id, r.id, r.cart_id,
                {_cases(lambda name: f"'{STAGE_OF_DATE[name].value}'")} AS state,
                {_cases(lambda name: f"r.{name}")} AS day
            FROM fleet_recheck r
            WHERE {at_sites} AND r.ended = '' AND r.opens_on <= %(today)s
        )
        SELECT s.site_id, s.id AS about, s.cart_id, t.stage, s.day, t.person_id
        FROM stood s JOIN told t ON t.site_id = s.site_id AND t.state = s.state
        JOIN fleet_cart c ON c.id = s.cart_id
        WHERE s.day > %(after)s AND NOT c.is_tagged AND c.condition <> ALL(%(at_rest)s)
        AND NOT EXISTS (
            SELECT FROM fleet_notice n WHERE n.about = s.id AND n.stage = t.stage
            AND n.person_id = t.person_id OFFSET 0
        )
    """


def asked_of(some) -> dict:
    """Return what that query is asked with, of sites whose days are alike."""
    told = [(here.site.pk, *told) for here in some for told in _told(here)]
    sites, states, stages, people = ([row[place] for row in told] for place in range(4))
    return {
        "sites": sites,
        "states": [state.value for state in states],
        "stages": [stage.value for stage in stages],
        "people": people,
        "here": [here.site.pk for here in some],
        "today": some[0].today,
        "after": _after(some[0]),
        "at_rest": [condition.value for condition in AT_REST],
    }


def lacks_at(here) -> list:
    """Return the Lacks at one site, as that query finds them."""
    told = defaultdict(list)
    for state, stage, person_id in _told(here):
        told[state].append((stage, person_id))
    lacks = [
        Lack(row.id, row.cart_id, stage, day, person_id)
        for row, state, day in _stood(here.site, here.today, _after(here))
        for stage, person_id in told[state]
    ]
    return without_made(lacks)


def _stood(site, today, after):
    """Yield (recheck, its stage, since when) where that began after a day."""
    lately = Q()
    for name in STAGE_OF_DATE:
        lately |= Q(**{f"{name}__gt": after, f"{name}__lte": today})
    found = rechecks_at(site).filter(lately, opens_on__lte=today)
    for row in found.values_list("id", "cart_id", *STAGE_OF_DATE, named=True):
        stage = Stage(state_on(row, today))
        day = getattr(row, DATE_OF_STAGE[stage])
        if day > after:
            yield row, stage, day


def without_made(lacks) -> list:
    """Return those of which there is no notice."""
    made, abouts = set(), list({lack.about for lack in lacks})
    for start in range(0, len(abouts), ABOUTS_A_LOOK):
        rows = Notice.objects.filter(about__in=abouts[start : start + ABOUTS_A_LOOK]).order_by()
        made |= set(rows.values_list("about", "stage", "person_id"))
    return [lack for lack in lacks if (lack.about, lack.stage, lack.person_id) not in made]
