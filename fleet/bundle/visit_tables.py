"""What people did at the carts and said of them: rounds, findings, readings, tags, reports."""

from collections import Counter, defaultdict

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import done_at, who_and_when
from fleet.bundle.columns import CART, MOMENT, WHO_AND_WHEN, YES_NO, Column, Table, number
from fleet.bundle.shapes import fact_table, said
from fleet.kinds import register
from fleet.lateness import is_written_late
from fleet.models import Note, Report

NOTE = "note"
OF_ROUND = Column("round", _("the round; see rounds.csv"))


def told_rounds(batch):
    for cart in batch.carts:
        closed = Counter(row.ended_by for row in cart.rechecks if row.ended == "closed")
        tags = {tag.round_id: tag.pk for tag in cart.facts.tags}
        for fact in cart.own(cart.facts.rounds):
            parts = cart.facts.parts.get(fact.pk, ())
            holds = [hold.reason for _fact, outcome in parts for hold in outcome.holds]
            yield (
                cart,
                fact,
                {
                    "done_by": batch.scope.name(cart.facts.first_of(fact).by_id),
                    "written_late": _is_late(fact, cart.facts.all_arrived_at(fact)),
                    "rechecks_closed": closed[fact.pk],
                    "left_open": "; ".join(map(str, dict.fromkeys(holds))),
                    "tag": tags.get(fact.pk),
                },
            )


def _is_late(fact, told_at):
    """Say whether a round's work was late when first told of; correcting it is no lateness."""
    return is_written_late(fact.done_at, told_at, fact.brought_in)


ROUNDS = fact_table(
    "rounds.csv",
    _("each visit at a cart"),
    said("round", _("the round"), field="id"),
    (
        Column("done_by", _("who did the round: who first recorded it")),
        said("opened_at", _("when the round was opened"), MOMENT),
        said("identified", _("how the cart was named: plate scanned, number typed or listed")),
        said("cautions_seen", _("the cautions were ticked as seen"), YES_NO),
        said("seen_elsewhere", _("another round at this cart was open then"), YES_NO),
        number("rechecks_closed", _("how many rechecks it closed; see rechecks.csv")),
        Column("left_open", _("why work that was done did not close")),
        Column("tag", _("tag that its findings put on the cart; see tags.csv")),
        said("note", _("note")),
        Column(
            "written_late",
            _("first told of, all or some of it, more than a day after it happened"),
            YES_NO,
        ),
    ),
    told_rounds,
)


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


FINDINGS = Table(
    "findings.csv",
    _("each look and measure of the rounds, as it was recorded"),
    (
        *CART,
        OF_ROUND,
        *WHO_AND_WHEN,
        Column("part", _("part of the round")),
        Column("item", _("what was looked at or measured")),
        Column("found", _("what was found")),
        Column("detail", _("what was read, measured or done")),
    ),
    finding_rows,
)


def told_readings(batch):
    for cart in batch.carts:
        yield from ((cart, fact, {}) for fact in cart.own(cart.facts.readings))


READINGS = fact_table(
    "readings.csv",
    _("each meter reading as shown"),
    said("reading", _("the reading"), field="id"),
    (
        said("hours_shown", _("what the hour meter showed"), "h", numeric=True),
        said(
            "distance_shown",
            _("what the distance meter showed"),
            _("that of the meter"),
            numeric=True,
        ),
        said("typed", _("as typed")),
        said("source", _("who read it; estimated readings never make a recheck late")),
        said("doubted", _("why it is doubted")),
        said("round", _("the round; see rounds.csv"), field="round_id"),
    ),
    told_readings,
)


def told_tags(batch):
    for cart in batch.carts:
        backs = {back.tag_id: back for back in cart.facts.hand_backs}
        for tag in cart.own(cart.facts.tags):
            yield cart, tag, _hand_back(tag, backs.get(tag.pk), batch.scope)


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


TAGS = fact_table(
    "tags.csv",
    _("carts kept out of use, and their hand-back; of a period also what was on as it began"),
    said("tag", _("the tag"), field="id"),
    (
        said("reason", _("what was wrong")),
        said("is_critical", _("could cost a wheel, the steering or the brakes"), YES_NO),
        said("round", _("the round that found it; see rounds.csv"), field="round_id"),
        said("key_place", _("where the key was put")),
        number("days_out", _("days out of use, until handed back or as of the day"), "d"),
        Column("handed_back_at", _("returned to use; empty: tagged still"), MOMENT),
        Column("handed_back_by", _("who returned it to use")),
        Column("done", _("what was done")),
        Column("repaired_by", _("who did the repair; empty: nobody of the people here")),
        Column("same_person", _("released by the one who did the repair"), YES_NO),
        Column("drive_note", _("the drive after it, and what was measured again")),
    ),
    told_tags,
)


def told_reports(batch):
    told = defaultdict(list)
    for model in (Report, Note):
        for cart, fact in batch.standing(model):
            told[cart.id].append(fact)
    for cart in batch.carts:
        for fact in sorted(told[cart.id], key=lambda fact: (fact.done_at, fact.pk)):
            is_note = isinstance(fact, Note)
            yield (
                cart,
                fact,
                {
                    "noticed": NOTE if is_note else fact.noticed,
                    "text": fact.text if is_note else fact.note,
                },
            )


REPORTS = fact_table(
    "reports.csv",
    _("what desk and drivers noticed, and notes"),
    said("report", _("the report"), field="id"),
    (
        Column("noticed", _("what was noticed; note: a note on the cart")),
        Column("text", _("in their words")),
    ),
    told_reports,
)
