"""A round is saved whole: the round, the meters, each part, the tags its findings call for."""

from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from uuid import UUID, uuid5

from django.db import transaction

from fleet.actions import carrying, project
from fleet.fitted import refuse_before_fitting
from fleet.kinds import Outcome
from fleet.models import Reading, Recheck, Round, Tag
from shared.facts import filed_before, lock_sites, record_all
from shared.trials import kill_point


@dataclass
class TakenDown:
    """What a mechanic took down at a cart; ``parts`` are (Part, valid form) pairs.

    ``id`` is the one that the page carried, so that the same page sent twice is one
    round. ``done_at`` None means now. ``photos`` are (Part, unsaved Photo) pairs.
    ``undone`` are the parts that a correction takes back.
    """

    id: UUID
    opened_at: datetime
    done_at: datetime | None = None
    identified: str = Round.Identified.LISTED
    cautions_seen: bool = False
    note: str = ""
    hours: Decimal | None = None
    distance: Decimal | None = None
    typed: str = ""
    hours_rolled: bool = False
    distance_rolled: bool = False
    doubted: str = ""
    parts: list = field(default_factory=list)
    undone: list = field(default_factory=list)
    photos: list = field(default_factory=list)
    corrects: UUID | None = None
    why_corrected: str = ""


@dataclass(frozen=True)
class Saved:
    """A round as saved: what each part amounts to, and the rechecks that it ended."""

    round: Round
    first: bool
    outcomes: tuple[Outcome, ...]
    closed: tuple[Recheck, ...]


@dataclass(frozen=True)
class Written:
    """A round as unsaved facts with their lines, and what each part amounts to."""

    round: Round
    facts: list
    outcomes: tuple[Outcome, ...]


def save_round(cart, visit: TakenDown, *, by, at) -> Saved:
    """Record one visit at a cart and everything that follows from it, all or nothing.

    Sent again with the same id and content it is answered the same; with other content
    it raises shared.facts.OtherBody and nothing is written. Raises
    fleet.fitted.BeforeFitting when it did work at a lift that was not on yet.
    """
    return _saved_before(cart, visit, by=by, at=at) or _save(cart, visit, by=by, at=at)


def _saved_before(cart, visit, **who):
    """Answer a page sent again without a lock: on SQLite that is one for all writers."""
    if not Round.objects.filter(pk=visit.id).exists():
        return None
    written = write(cart, visit, **who)
    filed = filed_before(written.facts)
    return _answer(written, filed) if filed else None


@transaction.atomic
def _save(cart, visit, *, by, at):
    kill_point("before-lock")
    lock_sites(cart.site_id)
    written = write(cart, visit, by=by, at=at)
    filed = record_all(written.facts, at=at)
    if any(one.first for one in filed):
        project.carts([cart.pk])
    kill_point("after-update")
    answer = _answer(written, filed)
    kill_point("before-commit")
    return answer


def _answer(written, filed):
    closed = tuple(Recheck.objects.closed_by(written.round))
    return Saved(written.round, filed[0].first, written.outcomes, closed)


def write(cart, visit, *, by, at, kept=()) -> Written:
    """Return the unsaved facts of a visit, the round first; to be filed, under the site's lock.

    ``kept`` are the parts, each with its lines, that an earlier telling recorded and that
    still hold.
    """
    earlier = Round.objects.filter(pk=visit.id).first()
    fields = {
        "site_id": cart.site_id,
        "cart_id": cart.pk,
        "by": by,
        "done_at": visit.done_at or (earlier.done_at if earlier else at),
        "written_at": earlier.written_at if earlier else at,
    }
    row = _round(visit, fields)
    parts = {
        part: [(part, *found) for found in part.facts(row, form, fields)]
        for part, form in visit.parts
    }
    found = [each for some in parts.values() for each in some]
    told = [(fact, lines) for _part, fact, lines in found]
    refuse_before_fitting(cart, row.done_at, [*told, *kept])
    outcomes = tuple(part.outcome(fact, lines) for part, fact, lines in found)
    facts = [(row, ()), *_readings(visit, fields)]
    facts += told
    facts += _photos(row, visit, parts, fields)
    facts += tags_of(row, (*outcomes, *carrying.outcomes_of(kept)), fields)
    return Written(row, facts, outcomes)


def _round(visit, fields):
    return Round(
        id=visit.id,
        opened_at=min(visit.opened_at, fields["done_at"]),
        identified=visit.identified,
        cautions_seen=visit.cautions_seen,
        note=visit.note,
        corrects=visit.corrects,
        why_corrected=visit.why_corrected,
        **fields,
    )


def _readings(visit, fields):
    if visit.hours is None and visit.distance is None:
        return []
    reading = Reading(
        id=uuid5(visit.id, "reading"),
        round_id=visit.id,
        hours_shown=visit.hours,
        distance_shown=visit.distance,
        typed=visit.typed,
        hours_rolled=visit.hours_rolled,
        distance_rolled=visit.distance_rolled,
        doubted=visit.doubted,
        source=Reading.Source.MECHANIC,
        **fields,
    )
    return [(reading, ())]


def photo_id(round_id, part, photo):
    """Return the id of a part's photo, the same whenever its round is sent."""
    return uuid5(round_id, f"photo {part.code} {photo.shows}")


def _photos(row, visit, parts, fields):
    """Return the photos, each about the fact of its part, or about the round without one."""
    facts = []
    for part, photo in visit.photos:
        photo.id = photo_id(row.pk, part, photo)
        about = [fact.pk for _, fact, _ in parts.get(part, ())]
        photo.about = about[0] if about else row.pk
        for name, value in fields.items():
            setattr(photo, name, value)
        facts.append((photo, ()))
    return facts


def tags_of(row, outcomes, fields):
    """Return [(tag, lines)] of what the parts of a round amount to, empty without a finding."""
    calls = [outcome for outcome in outcomes if outcome.tag]
    if not calls:
        return []
    tag = Tag(
        id=uuid5(row.pk, "tag"),
        round_id=row.pk,
        reason="; ".join(outcome.tag for outcome in calls),
        is_critical=any(outcome.is_critical for outcome in calls),
        **fields,
    )
    return [(tag, ())]
