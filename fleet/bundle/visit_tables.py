"""What people did at the carts and said of them: rounds, findings, readings, tags, reports."""

from collections import Counter, defaultdict

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import arrival, done_at, moment, who_and_when
from fleet.bundle.columns import (
    ARRIVAL,
    CART,
    MOMENT,
    WHO_AND_WHEN,
    YES_NO,
    Column,
    Table,
    number,
)
from fleet.kinds import register
from fleet.models import Note, Report
from fleet.timeline import LATE_WRITTEN

NOTE = "note"


def round_rows(batch):
    for cart in batch.carts:
        closed = Counter(row.ended_by for row in cart.rechecks if row.ended == "closed")
        tags = {tag.round_id: tag.pk for tag in cart.facts.tags}
        for fact in cart.own(cart.facts.rounds):
            parts = cart.facts.parts.get(fact.pk, ())
            holds = [hold.reason for _fact, outcome in parts for hold in outcome.holds]
            yield {
                **cart.named(fact.done_at),
                **who_and_when(fact, batch.scope),
                **arrival(fact, batch.scope),
                "round": fact.pk,
                "opened_at": moment(fact.opened_at, batch.scope.zone),
                "written_late": _is_late(fact),
                "identified": fact.identified,
                "cautions_seen": fact.cautions_seen,
                "seen_elsewhere": fact.seen_elsewhere,
                "rechecks_closed": closed[fact.pk],
                "left_open": "; ".join(map(str, dict.fromkeys(holds))),
                "tag": tags.get(fact.pk),
                "note": fact.note,
            }


def _is_late(fact):
    return not fact.brought_in and fact.received_at - fact.done_at > LATE_WRITTEN


def finding_rows(batch):
    """Yield what the rounds found: cart by cart, round by round, part by part."""
    found = _findings(batch)
    for cart in batch.carts:
        for fact in cart.own(cart.facts.rounds):
            about = {**cart.named(fact.done_at), **who_and_when(fact, batch.scope)}
            yield from ({**about, **finding} for finding in found[str(fact.pk)])


def _findings(batch):
    """Return {round: findings}, each part asked once for all carts."""
    by_round = defaultdict(list)
    for part in register.parts_in_order():
        facts = [
            fact
            for cart in batch.carts
            for row in cart.own(cart.facts.rounds)
            for fact, _outcome in cart.facts.parts.get(row.pk, ())
            if isinstance(fact, part.model)
        ]
        for finding in part.rows(facts) if facts else ():
            by_round[finding["round"]].append(finding)
    return by_round


def reading_rows(batch):
    for cart in batch.carts:
        for fact in cart.own(cart.facts.readings):
            yield {
                **cart.named(fact.done_at),
                **who_and_when(fact, batch.scope),
                **arrival(fact, batch.scope),
                "reading": fact.pk,
                "hours_shown": fact.hours_shown,
                "distance_shown": fact.distance_shown,
                "typed": fact.typed,
                "source": fact.source,
                "doubted": fact.doubted,
                "round": fact.round_id,
            }


def tag_rows(batch):
    for cart in batch.carts:
        backs = {back.tag_id: back for back in cart.facts.hand_backs}
        for tag in cart.own(cart.facts.tags):
            yield {
                **cart.named(tag.done_at),
                **who_and_when(tag, batch.scope),
                **arrival(tag, batch.scope),
                "tag": tag.pk,
                "reason": tag.reason,
                "is_critical": tag.is_critical,
                "round": tag.round_id,
                "key_place": tag.key_place,
                **_hand_back(tag, backs.get(tag.pk), batch.scope),
            }


def _hand_back(tag, back, scope):
    until = back.done_at if back else scope.cut.happened_by
    return {
        "days_out": (scope.day_of(until) - scope.day_of(tag.done_at)).days,
        "handed_back_at": done_at(back, scope.zone) if back else "",
        "handed_back_by": scope.name(back.by_id) if back else "",
        "done": back.done if back else "",
        "repaired_by": scope.name(back.repaired_by_id) if back else "",
        "same_person": back.is_same_person if back else None,
        "drive_note": back.drive_note if back else "",
    }


def report_rows(batch):
    told = defaultdict(list)
    for model in (Report, Note):
        for cart, fact in batch.standing(model):
            told[cart.id].append(fact)
    for cart in batch.carts:
        for fact in sorted(told[cart.id], key=lambda fact: (fact.done_at, fact.pk)):
            is_note = isinstance(fact, Note)
            yield {
                **cart.named(fact.done_at),
                **who_and_when(fact, batch.scope),
                **arrival(fact, batch.scope),
                "report": fact.pk,
                "noticed": NOTE if is_note else fact.noticed,
                "text": fact.text if is_note else fact.note,
            }


ROUND = Column("round", _("the round; see rounds.csv"))
ROUNDS = Table(
    "rounds.csv",
    _("each visit at a cart"),
    (
        *CART,
        ROUND,
        *WHO_AND_WHEN,
        Column("opened_at", _("when the round was opened"), MOMENT),
        Column("identified", _("how the cart was named: plate scanned, number typed or listed")),
        Column("cautions_seen", _("the cautions were ticked as seen"), YES_NO),
        Column("seen_elsewhere", _("another round at this cart was open then"), YES_NO),
        number("rechecks_closed", _("how many rechecks it closed; see rechecks.csv")),
        Column("left_open", _("why work that was done did not close")),
        Column("tag", _("tag that its findings put on the cart; see tags.csv")),
        Column("note", _("note")),
        Column("written_late", _("arrived more than a day after it happened"), YES_NO),
        *ARRIVAL,
    ),
    round_rows,
)
FINDINGS = Table(
    "findings.csv",
    _("each look and measure of the rounds, as it was recorded"),
    (
        *CART,
        ROUND,
        *WHO_AND_WHEN,
        Column("part", _("part of the round")),
        Column("item", _("what was looked at or measured")),
        Column("found", _("what was found")),
        Column("detail", _("what was read, measured or done")),
    ),
    finding_rows,
)
READINGS = Table(
    "readings.csv",
    _("each meter reading as shown"),
    (
        *CART,
        Column("reading", _("the reading")),
        *WHO_AND_WHEN,
        number("hours_shown", _("what the hour meter showed"), "h"),
        number("distance_shown", _("what the distance meter showed"), _("that of the meter")),
        Column("typed", _("as typed")),
        Column("source", _("who read it; estimated readings never make a recheck late")),
        Column("doubted", _("why it is doubted")),
        ROUND,
        *ARRIVAL,
    ),
    reading_rows,
)
TAGS = Table(
    "tags.csv",
    _("carts kept out of use, and their hand-back"),
    (
        *CART,
        Column("tag", _("the tag")),
        *WHO_AND_WHEN,
        Column("reason", _("what was wrong")),
        Column("is_critical", _("could cost a wheel, the steering or the brakes"), YES_NO),
        ROUND,
        Column("key_place", _("where the key was put")),
        number("days_out", _("days out of use, until handed back or as of the day"), "d"),
        Column("handed_back_at", _("returned to use; empty: tagged still"), MOMENT),
        Column("handed_back_by", _("who returned it to use")),
        Column("done", _("what was done")),
        Column("repaired_by", _("who did the repair; empty: nobody of the people here")),
        Column("same_person", _("released by the one who did the repair"), YES_NO),
        Column("drive_note", _("the drive after it, and what was measured again")),
        *ARRIVAL,
    ),
    tag_rows,
)
REPORTS = Table(
    "reports.csv",
    _("what desk and drivers noticed, and notes"),
    (
        *CART,
        Column("report", _("the report")),
        *WHO_AND_WHEN,
        Column("noticed", _("what was noticed; note: a note on the cart")),
        Column("text", _("in their words")),
        *ARRIVAL,
    ),
    report_rows,
)
