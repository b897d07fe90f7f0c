"""Exceptions, each a small table: what a surveyor asks for before all else."""

from django.utils.translation import gettext_lazy as _

from fleet.board import Work
from fleet.bundle.cart_tables import km, rechecks_here
from fleet.bundle.cells import done_at, moment
from fleet.bundle.columns import CART, DAY, MOMENT, YES_NO, Column, Table, number
from fleet.bundle.shapes import fact_table, read_off, said
from fleet.models import Reading
from fleet.moving import moved_after_stop
from fleet.why_now import what


def moving_rows(batch):
    """Yield each stop limit after which a meter rose, by how much."""
    for cart, recheck, moved in moved_after_stop(batch):
        yield {
            **cart.named(),
            "recheck": recheck.pk,
            "work": what(Work.of(recheck, cart.row)),
            "stops_on": recheck.stops_on,
            "ended_at": moment(recheck.ended_at, batch.scope.zone),
            "read_before_at": moment(moved.before_at, batch.scope.zone),
            "first_risen_at": moment(moved.first_at, batch.scope.zone),
            "last_risen_at": moment(moved.last_at, batch.scope.zone),
            "readings": moved.readings,
            "more_hours": moved.more_hours,
            "more_km": km(moved.more_metres),
        }


STOPPED_MOVING = Table(
    "stopped_moving.csv",
    _("carts whose meter rose on a day after a stop limit was reached and before it was met"),
    (
        *CART,
        Column("recheck", _("the recheck; see rechecks.csv")),
        Column("work", _("what was to be done")),
        Column("stops_on", _("stop limit reached: the cart must not run"), DAY),
        Column("ended_at", _("the recheck was closed or void; empty: stopped still"), MOMENT),
        Column("read_before_at", _("reading before the rise; some of it may be of before"), MOMENT),
        Column("first_risen_at", _("first reading that had risen, none estimated"), MOMENT),
        Column("last_risen_at", _("last reading that had risen"), MOMENT),
        number("readings", _("how many readings had risen")),
        number("more_hours", _("hours run between read_before_at and last_risen_at"), "h"),
        number("more_km", _("true distance run between the two"), "km"),
    ),
    moving_rows,
    key=("recheck",),
)


NAMED, DID_A_ROUND = "named as repairer", "did a round in between"


def told_same_person(batch):
    for cart in batch.carts:
        tags = {tag.pk: tag for tag in cart.facts.tags}
        for back in cart.own(cart.facts.hand_backs):
            tag = tags[back.tag_id]
            known = _how_known(cart.facts, tag, back)
            if known:
                yield (
                    cart,
                    back,
                    {
                        "tagged_at": done_at(tag, batch.scope.zone),
                        "how_known": "; ".join(known),
                        "repaired_by": batch.scope.name(back.repaired_by_id),
                    },
                )


def _how_known(facts, tag, back):
    """Return by what it is known that who released a cart worked at it as well."""
    known = [NAMED] if back.is_same_person else []
    did = any(
        facts.first_of(row).by_id == back.by_id
        for row in facts.rounds
        if tag.done_at < row.done_at <= back.done_at and row.pk != tag.round_id
    )
    return [*known, DID_A_ROUND] if did else known


SAME_PERSON = fact_table(
    "same_person.csv",
    _("tagged carts handed back by who did the repair, or a round between tag and hand-back"),
    said("hand_back", _("the hand-back"), field="id"),
    (
        said("tag", _("the tag; see tags.csv")),
        Column("tagged_at", _("when the tag was put on"), MOMENT),
        Column("how_known", _("named as repairer; did a round in between; or both")),
        Column("repaired_by", _("who is named as repairer; empty: nobody of the people here")),
        said("done", _("what was done")),
        said("drive_note", _("the drive after it, and what was measured again")),
    ),
    told_same_person,
)

ESTIMATE = Reading.Source.ESTIMATED


def told_estimates(batch):
    for cart in batch.carts:
        for fact in cart.own(cart.facts.readings):
            if fact.source == ESTIMATE:
                yield cart, fact, {}


ESTIMATES = fact_table(
    "estimated_readings.csv",
    _("meter readings that were estimated; they never make a recheck late or stopped"),
    said("reading", _("the reading"), field="id"),
    (
        said("hours_shown", _("hours estimated"), "h", numeric=True),
        said("distance_shown", _("distance estimated"), _("that of the meter"), numeric=True),
        said("typed", _("as typed")),
    ),
    told_estimates,
)


def estimated_due_rows(batch):
    for cart, recheck in rechecks_here(batch):
        if recheck.is_estimated and not recheck.ended:
            yield {
                **cart.named(),
                "recheck": recheck.pk,
                "work": what(Work.of(recheck, cart.row)),
                **read_off(recheck, RANGE),
                "read_at": moment(cart.row.read_at, batch.scope.zone),
            }


RANGE = (
    Column("due_on", _("due day that rests on an estimate"), DAY),
    Column("earliest_on", _("earliest due day by the range of the rate"), DAY),
    Column("latest_on", _("latest due day by that range; empty: no end"), DAY),
)
ESTIMATED_DUE = Table(
    "estimated_due.csv",
    _("rechecks whose due day rests on an estimated reading or the average of the cart's use"),
    (
        *CART,
        Column("recheck", _("the recheck; see rechecks.csv")),
        Column("work", _("what is to be done")),
        *RANGE,
        Column("read_at", _("last meter reading; empty: none"), MOMENT),
    ),
    estimated_due_rows,
    key=("recheck",),
)


def part_closed_rows(batch):
    """Yield what each round left open: work held back with its reason, joints not reached."""
    for cart in batch.carts:
        for fact in cart.own(cart.facts.rounds):
            about = {
                **cart.named(fact.done_at),
                "round": fact.pk,
                "done_at": done_at(fact, batch.scope.zone),
                "by": batch.scope.name(fact.by_id),
            }
            for _fact, outcome in cart.facts.parts.get(fact.pk, ()):
                yield from ({**about, **left} for left in _left(outcome))


def _left(outcome):
    for reason in dict.fromkeys(str(hold.reason) for hold in outcome.holds):
        pieces = sorted(hold.piece for hold in outcome.holds if str(hold.reason) == reason)
        yield {"left": "held", "what": "; ".join(pieces), "why": reason}
    for joint in outcome.missed:
        yield {"left": "not reached", "what": joint, "why": ""}


PART_CLOSED = Table(
    "part_closed.csv",
    _("rounds that closed a part of their work only, and what they left open"),
    (
        *CART,
        Column("round", _("the round; see rounds.csv"), field="id"),
        Column("done_at", _("when it happened"), MOMENT, field="done_at"),
        Column("by", _("who recorded it")),
        Column("left", _("held: done, and does not close; not reached: a joint to do yet")),
        Column("what", _("pieces of work, or the joint")),
        Column("why", _("why it does not close")),
    ),
    part_closed_rows,
    entry="round",
)


def unproven_rows(batch):
    for cart in batch.carts:
        if cart.is_here and cart.row.is_unproven:
            chapters = [one for one in cart.facts.chapters if one.until_at is None]
            for chapter in chapters:
                yield {
                    **cart.named(),
                    "chapter": chapter.fitting_id,
                    "kit_code": chapter.kit_code,
                    "fitted_at": moment(chapter.from_at, batch.scope.zone),
                    **read_off(cart.row, (*KEPT, UNRECORDED)),
                }


KEPT = (
    Column("use_class", _("what the cart is used for; unproven ones are not hired out")),
    Column("condition", _("on stands, in use or laid up")),
    Column("is_tagged", _("kept out of use by a tag"), YES_NO),
)
UNRECORDED = Column("unrecorded_before", _("its history before this day is not recorded"), DAY)
UNPROVEN = Table(
    "unproven.csv",
    _("lifts without papers of their fitting and without a baseline round yet"),
    (
        *CART,
        Column("chapter", _("the fitting; see lift_chapters.csv")),
        Column("kit_code", _("the lift's short name in rules")),
        Column("fitted_at", _("when it was fitted, as far as it is known"), MOMENT),
        *KEPT,
        UNRECORDED,
    ),
    unproven_rows,
    key=("chapter",),
)


def not_told_rows(batch):
    for cart in batch.carts:
        if is_in_fleet(cart) and cart.row.is_lifted and cart.row.insurer_told_on is None:
            since = min(one.from_at for one in cart.facts.chapters if one.until_at is None)
            yield {
                **cart.named(),
                "lifted_since": moment(since, batch.scope.zone),
                **read_off(cart.row, KEPT),
            }


def is_in_fleet(cart):
    return cart.is_here and cart.row.left_on is None


NOT_TOLD = Table(
    "insurer_not_told.csv",
    _("lifted carts for which no day is recorded on which the insurer was told of the lift"),
    (
        *CART,
        Column("lifted_since", _("when the lift on it was fitted"), MOMENT),
        *KEPT,
    ),
    not_told_rows,
    key=("cart_id",),
)
