"""What was written late, and which rounds of it a manager has let count."""

from django.apps import apps
from django.db.models import F
from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import moment
from fleet.bundle.columns import MOMENT, YES_NO, Column, number
from fleet.bundle.shapes import ANY_CART, fact_table, said
from fleet.lateness import MARKED_AFTER, days_late, is_written_late, needs_countersign
from fleet.models import CartFact, Countersign, Round
from fleet.models.facts import Part
from shared.models import Change

WAITS, SIGNED = "waits for a countersign", "countersigned"


def told_late(batch):
    """Yield what arrived more than a day after it was done, when it was first told."""
    for model in _kinds():
        late = F("done_at") + MARKED_AFTER
        for cart, fact in batch.standing(model, received_at__gt=late, brought_in=False):
            told_at = _told_at(cart, fact)
            # what a round read and tagged is told with the round
            is_of_round = getattr(fact, "round_id", None) is not None
            if is_written_late(fact.done_at, told_at) and not is_of_round:
                yield cart, fact, {**_lateness(fact, told_at, batch), **_signed(cart, fact, batch)}


def _told_at(cart, fact):
    """Return when an entry's work was first told of: of a round, the last of its work."""
    facts = cart.facts
    return facts.all_arrived_at(fact) if isinstance(fact, Round) else facts.arrived_at(fact)


def _kinds():
    of_carts = [model for model in apps.get_models() if issubclass(model, CartFact)]
    return [Change, *(one for one in of_carts if not issubclass(one, (Part, Countersign)))]


def _lateness(fact, told_at, batch):
    day_of = batch.scope.day_of
    return {
        "kind": _kind(fact),
        "first_received_at": moment(told_at, batch.scope.zone),
        "days_late": days_late(day_of(fact.done_at), day_of(told_at)),
        "over_a_week": needs_countersign(fact.done_at, told_at),
    }


def _kind(fact):
    return f"{fact.kind()}: {fact.what}" if isinstance(fact, Change) else fact.kind()


def _signed(cart, fact, batch):
    found = [one for one in cart.facts.countersigns if one.about == fact.pk]
    waits = isinstance(fact, Round) and not found and cart.facts.waits_for_countersign(fact)
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
