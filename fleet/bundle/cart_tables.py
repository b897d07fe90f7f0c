"""The carts, what falls due on them, and what is late: register, rechecks, late list."""

from decimal import Decimal

from django.utils.translation import gettext_lazy as _

from fleet.board import Work
from fleet.bundle.cells import moment
from fleet.bundle.columns import CART, DAY, MOMENT, YES_NO, Column, Table, number
from fleet.bundle.shapes import blank, read_off
from fleet.desk_answer import answer
from fleet.due import DUE, LATE, STOPPED, state_on
from fleet.kinds import register
from fleet.models import Recheck
from fleet.why_now import what, why_now

METRES_A_KM = Decimal(1000)
GONE = "gone to another site"
GRAVEST_FIRST = (STOPPED, LATE, DUE)

OF_CART = (
    Column("serial", _("serial number")),
    number("model_year", _("model year")),
    Column("colour", _("colour")),
    number("seats", _("seats")),
    Column("power", _("electric, with its battery where recorded, or petrol")),
    Column("use_class", _("what it is used for")),
    Column("owner_ref", _("reference to its owner")),
    Column("area", _("area")),
    Column("bay", _("bay")),
    Column("tyre", _("tyre size as written")),
    number("tyre_mm", _("tyre diameter"), "mm"),
    Column("is_lifted", _("a lift is on it"), YES_NO),
    Column("is_unproven", _("its lift has no papers and no baseline round yet"), YES_NO),
    Column("is_tagged", _("kept out of use by a tag"), YES_NO),
    Column("joined_on", _("joined the fleet"), DAY),
    Column("left_on", _("left the fleet"), DAY),
    Column("insurer_told_on", _("the insurer was told of the lift; empty: not recorded"), DAY),
    Column("unrecorded_before", _("its history before this day is not recorded"), DAY),
    number("hours_shown", _("what the hour meter showed"), "h"),
    number("hours_life", _("hours run in its life, over all meters"), "h"),
    number("distance_shown", _("what the distance meter showed"), _("see distance_unit")),
    Column("distance_unit", _("unit of that meter"), "km, mi"),
)
AS_IT_STANDS = (
    Column("desk", _("GO or NO: what the desk's page said of the cart")),
    Column("desk_why", _("why NO, or what goes with a GO")),
    Column("state", _("gravest of stopped, late and due among its rechecks")),
    number("stopped", _("rechecks whose stop limit is reached: the cart must not run")),
    number("late", _("rechecks past their leeway")),
    number("due", _("rechecks that are due, inside their leeway")),
    Column("read_at", _("last meter reading"), MOMENT),
    number("life_km", _("true distance run in its life, by tyre size"), "km"),
)


def register_rows(batch):
    for cart in batch.carts:
        here = _as_it_stands(cart) if cart.is_here else blank((*OF_CART, *AS_IT_STANDS))
        yield {
            **cart.named(),
            "condition": cart.row.condition if cart.is_here else GONE,
            "gone_on": batch.scope.day_of(cart.went_at),
            **here,
        }


def _as_it_stands(cart):
    states = states_of(cart)
    return {
        **read_off(cart.row, OF_CART),
        "owner_ref": cart.scope.owner(cart.row.owner_ref),
        **{state: states.count(state) for state in GRAVEST_FIRST},
        "state": next((state for state in GRAVEST_FIRST if state in states), ""),
        "read_at": moment(cart.row.read_at, cart.scope.zone),
        "life_km": km(cart.row.metres_life),
        **_at_the_desk(cart, states),
    }


def _at_the_desk(cart, states):
    """Return what the desk was to be told of the cart within the cut."""
    said = answer(
        condition=cart.row.condition,
        use_class=cart.row.use_class,
        is_tagged=cart.row.is_tagged,
        is_unproven=cart.row.is_unproven,
        states=states,
        unrecorded_before=cart.row.unrecorded_before,
    )
    why = "; ".join(said.reasons or said.notes)
    return {"desk": "GO" if said.goes else "NO", "desk_why": why}


def states_of(cart):
    """Return the states of the cart's active rechecks on the day."""
    return [state_on(row, cart.scope.day) for row in cart.rechecks if not row.ended]


def km(metres):
    """Return kilometres exactly: a figure in miles has its own digits."""
    return None if metres is None else metres / METRES_A_KM


REGISTER = Table(
    "register.csv",
    _("every cart that had come to the site, lifted and plain"),
    (
        *CART,
        Column("condition", _("on stands, in use, laid up, left, or gone to another site")),
        *AS_IT_STANDS,
        *OF_CART,
        Column("gone_on", _("went to another site; then nothing else is told of it"), DAY),
    ),
    register_rows,
    key=("cart_id",),
)

OF_RECHECK = (
    Column("governs", _("limit that is reached first: days, hours or distance")),
    Column("opens_on", _("may be done and will count from here on"), DAY),
    Column("due_on", _("limit reached"), DAY),
    Column("late_on", _("leeway passed"), DAY),
    Column("stops_on", _("stop limit reached: the cart must not run"), DAY),
    Column("earliest_on", _("earliest due day by the range of the rate of use"), DAY),
    Column("latest_on", _("latest due day by that range; empty: no end"), DAY),
    Column("calendar_due_on", _("due day by the calendar alone"), DAY),
    number("minutes", _("usual time it takes"), "min"),
    Column("subject", _("wheel or joint that it is about")),
    Column("chapter", _("fitting of the lift it belongs to; see lift_chapters.csv")),
    Column("ended_by", _("round that closed it, or entry that made it void")),
    Column("void_reason", _("why it is void")),
)


def recheck_rows(batch):
    for cart, recheck in rechecks_here(batch):
        yield {
            **cart.named(),
            **read_off(recheck, OF_RECHECK),
            **_named(recheck),
            **_limits(cart, recheck),
            **_ended(cart, recheck),
            "started_on": recheck.anchor_on,
            "started_by": recheck.anchor_id,
        }


def rechecks_here(batch):
    """Yield (cart, recheck) of the carts that are at the site."""
    for cart in batch.carts:
        if cart.is_here:
            yield from ((cart, recheck) for recheck in cart.rechecks)


def _named(recheck):
    return {
        "recheck": recheck.pk,
        "rule": recheck.rule_code,
        "kind": recheck.kind_code,
        "title": str(register.kinds[recheck.kind_code].title),
    }


def _limits(cart, recheck):
    work = Work.of(recheck, cart.row)
    return {
        "due_life_hours": recheck.due_hours,
        "due_life_km": km(recheck.due_metres),
        "due_hours_shown": work.hours_at_due,
        "due_distance_shown": _thousandths(work.distance_at_due),
        "distance_unit": work.distance_unit if work.distance_at_due is not None else "",
        "forecast": recheck.is_forecast,
        "estimated": recheck.is_estimated,
    }


def _thousandths(value):
    return None if value is None else round(value, 3)


def _ended(cart, recheck):
    rounds = {row.pk: row for row in cart.facts.rounds}
    closing = rounds.get(recheck.ended_by) if recheck.ended == Recheck.Ended.CLOSED else None
    return {
        "state": recheck.ended or state_on(recheck, cart.scope.day),
        "ended_at": moment(recheck.ended_at, cart.scope.zone),
        "closed_by": cart.scope.name(cart.facts.first_of(closing).by_id) if closing else "",
        "state_at_end": recheck.ended_state,
    }


STATES = _("ahead, open, due, late or stopped on the day; closed or void once ended")
RECHECKS = Table(
    "rechecks.csv",
    _("each piece of scheduled work with its state as of the day, ended ones too"),
    (
        *CART,
        Column("recheck", _("the recheck")),
        Column("rule", _("rule that called for it; ordered: a manager did")),
        Column("kind", _("kind of work")),
        Column("title", _("kind of work in words")),
        Column("state", STATES),
        *OF_RECHECK,
        number("due_life_hours", _("hours in the cart's life at which it is due"), "h"),
        number("due_life_km", _("true distance in its life at which it is due"), "km"),
        number("due_hours_shown", _("what the present hour meter shows then"), "h"),
        number(
            "due_distance_shown", _("what the present meter shows then"), _("see distance_unit")
        ),
        Column("distance_unit", _("unit of that meter"), "km, mi"),
        Column("forecast", _("the due day rests on a forecast of use"), YES_NO),
        Column("estimated", _("it rests on an estimated reading or a class average"), YES_NO),
        Column("started_on", _("its clock started"), DAY),
        Column("started_by", _("entry that started it")),
        Column("ended_at", _("closed or void since"), MOMENT),
        Column("closed_by", _("who did the round that closed it")),
        Column("state_at_end", _("its state on the day it ended")),
    ),
    recheck_rows,
    key=("recheck",),
)


def late_rows(batch):
    """Yield the late and the stopped, with how long they have been so and why."""
    day = batch.scope.day
    for cart, recheck in rechecks_here(batch):
        state = state_on(recheck, day)
        if recheck.ended or state not in (LATE, STOPPED):
            continue
        work = Work.of(recheck, cart.row)
        yield {
            **cart.named(),
            **read_off(recheck, LATE_DATES),
            **read_off(cart.row, OUT_THERE),
            "recheck": recheck.pk,
            "work": what(work),
            "state": state,
            "days_late": _days(recheck.late_on, day),
            "days_stopped": _days(recheck.stops_on, day),
            "why": why_now(work, day, batch.scope.site),
        }


def _days(since, day):
    """Return the days since then, the first one counted."""
    return (day - since).days + 1 if since and since <= day else None


LATE_DATES = (
    Column("due_on", _("limit reached"), DAY),
    Column("late_on", _("leeway passed"), DAY),
    Column("stops_on", _("stop limit reached: the cart must not run"), DAY),
    number("minutes", _("usual time it takes"), "min"),
)
OUT_THERE = (
    Column("condition", _("on stands, in use or laid up")),
    Column("is_tagged", _("kept out of use by a tag"), YES_NO),
    Column("use_class", _("what the cart is used for")),
)
LATE_LIST = Table(
    "late_list.csv",
    _("what is late or stopped as of the day, and why"),
    (
        *CART,
        Column("recheck", _("the recheck; see rechecks.csv")),
        Column("work", _("what is to be done")),
        Column("state", _("late or stopped")),
        *LATE_DATES,
        number("days_late", _("days since late_on, that day counted"), "d"),
        number("days_stopped", _("days since stops_on, that day counted"), "d"),
        Column("why", _("which limit governs, and how far past it the cart is")),
        *OUT_THERE,
    ),
    late_rows,
    key=("recheck",),
)
