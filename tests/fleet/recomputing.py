"""What the facts alone say of rounds and of the desk's answer, to compare rows with."""

from datetime import timedelta

from fleet.desk_answer import answer
from fleet.due import state_on
from fleet.gather import ground_of
from fleet.kinds import register as kinds
from fleet.projection import projected
from fleet.standing import facts_of


def parts_of(round_id):
    """Return the facts of the round's parts."""
    return [
        fact
        for part in kinds.parts.values()
        for fact in part.model.objects.filter(round_id=round_id)
    ]


def told_late(fact):
    """Say whether a part first arrived more than a week after it is said to have been done."""
    first = fact
    while first.corrects:
        first = type(fact).objects.get(pk=first.corrects)
    return first.received_at - fact.done_at > timedelta(days=7)


def recomputed(cart_id, today):
    """Return the desk's answer from the cart's facts alone."""
    facts = facts_of([cart_id])[cart_id]
    made = projected(facts, ground_of([facts]))
    dates = [row for row in made.rechecks if not row.ended]
    return answer(
        condition=made.cart.condition,
        use_class=made.cart.use_class,
        is_tagged=bool(facts.open_tags()),
        is_unproven=made.cart.is_unproven,
        states={state_on(row, today) for row in dates},
        unrecorded_before=made.cart.unrecorded_before,
    )
