"""What was written late, and which rounds of it a manager has let count."""

from django.db.models import F
from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import moment
from fleet.bundle.columns import MOMENT, YES_NO, Column, number
from fleet.bundle.scope import kinds_at_carts
from fleet.bundle.shapes import ANY_CART, fact_table, said
from fleet.lateness import MARKED_AFTER, days_late, is_written_late, needs_countersign
from fleet.models import Countersign, Round
from fleet.models.facts import Part
from fleet.standing import OF_FLEET
from shared.models import Change

# of changes, a cart's facts lack those that do not act yet
READ_WITH_CARTS = {model: name for name, model in OF_FLEET.items() if model is not Change}
WAITS, SIGNED = "waits for a countersign", "countersigned"


def told_late(batch):
    """Yield what arrived more than a day after it was done, when it was first told."""
    for model in _kinds():
        for cart, fact in _arrived_late(batch, model):
            told_at = _told_at(cart, fact)
            # what a round read and tagged is told with the round
            is_of_round = getattr(fact, "round_id", None) is not None
            if is_written_late(fact.done_at, told_at) and not is_of_round:
                yield cart, fact, {**_lateness(fact, told_at, batch), **_signed(cart, fact, batch)}


def _arrived_late(batch, model):
    """Yield (cart, fact) of a model's facts that arrived late, in order of time."""
    if model in READ_WITH_CARTS:
        found = [
            (cart, fact)
            for cart in batch.carts
            for fact in cart.own(getattr(cart.facts, READ_WITH_CARTS[model]))
            if is_written_late(fact.done_at, fact.received_at, fact.brought_in)
        ]
        yield from sorted(found, key=lambda told: (told[1].done_at, told[1].pk))
        return
    late = F("done_at") + MARKED_AFTER
    yield from batch.standing(model, received_at__gt=late, brought_in=False)


def _told_at(cart, fact):
    """Return when an entry's work was first told of: of a round, the last of its work."""
    facts = cart.facts
    return facts.all_arrived_at(fact) if fact._meta.model is Round else facts.arrived_at(fact)


def _kinds():
    return [one for one in kinds_at_carts() if not issubclass(one, (Part, Countersign))]


def _lateness(fact, told_at, batch):
    day_of = batch.scope.day_of
    return {
        "kind": _kind(fact),
        "first_received_at": moment(told_at, batch.scope.zone),
        "days_late": days_late(day_of(fact.done_at), day_of(told_at)),
        "over_a_week": needs_countersign(fact.done_at, told_at),
    }


def _kind(fact):
    return f"{fact.kind()}: {fact.what}" if fact._meta.model is Change else fact.kind()


def _signed(cart, fact, batch):
    found = [one for one in cart.facts.countersigns if one.about == fact.pk]
    waits = fact._meta.model is Round and not found and cart.facts.waits_for_countersign(fact)
    signed = found[-1] if found else None
    return {
        "countersign": SIGNED if signed else WAITS if waits else "",
        "countersigned_at": moment(signed and signed.received_at, batch.scope.zone),
        "countersigned_by": batch.scope.name(signed and signed.by_id),
        "countersign_reason": signed.reason if signed else "",
        "countersigned_own": signed and signed.by_id == cart.facts.first_of(fact).by_id,
    }


LATE_WRITTEN = fact_table(
    "late_written.csv",
    _("what arrived more than 24 hours after it was done; over 7 days a round closes nothing yet"),
    said("entry", _("the entry"), field="id"),
    (
        Column("kind", _("what kind of entry; of a change of the register, what it changed")),
        Column(
            "first_received_at",
            _("when all of it was first told of, before any correction"),
            MOMENT,
        ),
        number("days_late", _("days of the site's calendar from that of the work to that"), "d"),
        Column("over_a_week", _("more than 7 days: a round needs a manager's countersign"), YES_NO),
        Column("countersign", _("waits for one, or has one; empty: none is needed")),
        Column("countersigned_at", _("when it was countersigned"), MOMENT),
        Column("countersigned_by", _("by whom")),
        Column("countersign_reason", _("why it was let count")),
        Column("countersigned_own", _("by the one who first recorded it"), YES_NO),
    ),
    told_late,
    cart=ANY_CART,
)
