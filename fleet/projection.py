"""What the facts say today, as unsaved rows: a cart's register and its rechecks. No writes."""

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from uuid import uuid5

from fleet.gather import JOINED, LAID_UP, LEFT_FLEET, WOKEN, Ground, history_of
from fleet.history import Planned
from fleet.kinds import register
from fleet.meters import latest, points_of
from fleet.models import Cart, CartNumber, WaitingRound
from fleet.recheck_rows import RecheckRow
from fleet.schedule import schedule
from fleet.standing import CartFacts

CART_FIELDS = {
    "number",
    "plate",
    "serial",
    "model_year",
    "colour",
    "seats",
    "power",
    "use_class",
    "owner_ref",
    "bay",
    "area",
    "tyre",
    "tyre_mm",
    "insurer_told_on",
    "unrecorded_before",
}
DAYS = {"insurer_told_on", "unrecorded_before"}
THOUSANDTH = Decimal("0.001")


@dataclass
class Projected:
    """The rows that one cart's facts amount to; but for the cart's own made when asked for."""

    facts: CartFacts
    ground: Ground
    planned: tuple[Planned, ...]
    cart: Cart

    @property
    def active(self) -> list[Planned]:
        return [plan for plan in self.planned if not plan.ended]

    @cached_property
    def numbers(self) -> list[CartNumber]:
        return _numbers(self.facts, self.ground, self.cart)

    @cached_property
    def rechecks(self) -> list[RecheckRow]:
        return [self.recheck(plan) for plan in self.planned]

    @cached_property
    def waiting(self) -> list[WaitingRound]:
        return _waiting(self.facts, self.cart)

    def recheck(self, plan: Planned) -> RecheckRow:
        return _recheck(self.cart, plan)


def projected(facts, ground) -> Projected:
    """Return the rows of one cart from its standing facts."""
    points = points_of(facts, ground.sites)
    planned = schedule(history_of(facts, ground, points))
    return Projected(facts, ground, planned, _cart(facts, ground, planned, points))


def _cart(facts, ground, planned, points):
    said = {}
    for change in facts.changes:
        said |= {name: value for name, value in change.value.items() if name in CART_FIELDS}
    joined = next(change for change in facts.changes if change.what == JOINED)
    chapters = [chapter for chapter in facts.chapters if chapter.until_at is None]
    return Cart(
        id=facts.cart_id,
        site_id=_last(facts).site_id,
        joined_on=ground.day(joined.site_id, joined.done_at),
        left_on=_left_on(facts, ground),
        condition=_condition(facts, planned),
        is_lifted=bool(chapters),
        is_unproven=_is_unproven(chapters, planned),
        is_tagged=bool(facts.open_tags()),
        missing=_missing(planned),
        **{name: _value(name, value) for name, value in said.items()},
        **_latest(facts, ground, points),
    )


def _latest(facts, ground, points):
    places = {"metres_per_shown": "0.000001"}
    return {
        name: value.quantize(Decimal(places.get(name, "0.001")))
        if isinstance(value, Decimal)
        else value
        for name, value in latest(facts, ground.sites, points).items()
    }


def _last(facts):
    stays = [change for change in facts.changes if change.what in (JOINED, "moved")]
    return stays[-1]


def _value(name, value):
    if name in DAYS and value:
        return date.fromisoformat(value)
    if name == "tyre_mm" and value is not None:
        return Decimal(value).quantize(THOUSANDTH)
    return value


def _left_on(facts, ground):
    left = (c for c in facts.changes if c.what == LEFT_FLEET)
    days = [ground.day(c.site_id, facts.acts_at(c)) for c in left]
    return days[0] if days else None


def _condition(facts, planned):
    moves = [c.what for c in facts.changes if c.what in (LAID_UP, WOKEN, LEFT_FLEET)]
    if LEFT_FLEET in moves:
        return Cart.Condition.LEFT
    if moves and moves[-1] == LAID_UP:
        return Cart.Condition.LAID_UP
    if any(plan.kind == "fitting-close-out" and not plan.ended for plan in planned):
        return Cart.Condition.ON_STANDS
    return Cart.Condition.IN_USE


def _missing(planned):
    return sorted(set().union(*(plan.missing for plan in planned if not plan.ended)))


def _is_unproven(chapters, planned):
    proven = {
        plan.chapter for plan in planned if plan.kind == "baseline" and plan.ended == "closed"
    }
    return any(chapter.is_unproven and chapter.fitting_id not in proven for chapter in chapters)


def _numbers(facts, ground, cart):
    spans = []
    for change in facts.changes:
        if "number" in change.value or change.what == "moved":
            day = ground.day(change.site_id, change.done_at)
            number = change.value.get("number") or spans[-1].number
            if spans:
                spans[-1].to_day = max(spans[-1].from_day, day - timedelta(days=1))
            spans.append(
                CartNumber(cart_id=cart.pk, site_id=change.site_id, number=number, from_day=day)
            )
    if spans and cart.left_on:
        spans[-1].to_day = cart.left_on
    return spans


def _waiting(facts, cart):
    return [
        WaitingRound(
            id=row.pk,
            site_id=cart.site_id,
            cart_id=cart.pk,
            done_at=row.done_at,
            told_at=max(facts.arrived_at(fact) for fact in late),
        )
        for row in facts.rounds
        if (late := facts.waiting(row))
    ]


def recheck_id(cart_id, plan):
    """Return the id that a recheck keeps through every re-projection."""
    return uuid5(cart_id, f"{plan.rule_code}|{plan.subject}|{plan.anchor_fact_id}|{plan.step}")


def _recheck(cart, plan):
    dates = plan.dates
    return RecheckRow(
        id=recheck_id(cart.pk, plan),
        site_id=cart.site_id,
        cart_id=cart.pk,
        rule_code=plan.rule_code,
        kind_code=plan.kind,
        subject=plan.subject,
        anchor_id=plan.anchor_fact_id,
        anchor_on=plan.anchor_day,
        chapter=plan.chapter,
        opens_on=dates.opens_on,
        due_on=dates.due_on,
        late_on=dates.late_on,
        stops_on=dates.stops_on,
        earliest_on=dates.earliest,
        latest_on=dates.latest,
        governs=dates.governs,
        due_hours=_thousandths(dates.due_hours),
        due_metres=_thousandths(dates.due_metres),
        calendar_due_on=dates.calendar_due_on,
        is_forecast=dates.forecast,
        is_estimated=dates.estimated,
        minutes=register.kinds[plan.kind].minutes,
        ended=plan.ended or "",
        ended_by=plan.ended_by,
        ended_at=plan.ended_at,
        ended_state=plan.state_at_end,
        void_reason=plan.void_reason,
    )


def _thousandths(value):
    return None if value is None else value.quantize(THOUSANDTH)
