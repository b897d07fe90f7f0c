"""Lifts older than the records: their clocks do not run backwards, first work is planned instead.

By sheet and by form alike, so that both give the same facts.
"""

from datetime import timedelta
from uuid import uuid5

from django.db.models import Sum
from django.utils.translation import gettext, gettext_lazy

from fleet.actions.register import start_up
from fleet.importing.starting import WITHIN_DAYS, open_days, spread
from fleet.kinds import register
from fleet.lateness import COUNTERSIGNED_AFTER
from fleet.models import Cart, Recheck, Tag, UseClass
from fleet.visits import book_at
from lifts.models import Fitting
from lifts.source import FITTED
from shared.clock import moment_of, noon_of
from shared.facts import TICK

ONE_DAY = timedelta(days=1)
STARTED = "started up"
TAG_REASON = gettext_lazy("Lift found after the start day without paperwork")


def is_still_on(known, fitting) -> bool:
    """Whether a lift, as far as is known of its cart, is on it yet."""
    return known.cart.condition != Cart.Condition.LEFT and known.is_last(fitting.done_at)


def first_days(site, since, count) -> dict:
    """Return {kind: days} of the first work at so many old lifts, spread over what is free."""
    taken = _minutes_taken(site, since)
    return {
        kind: spread(
            count,
            register.kinds[kind].minutes,
            open_days(since, within, site.working_days, site.closures),
            site.mechanic_minutes_a_day,
            taken,
        )
        for kind, within in WITHIN_DAYS.items()
    }


def _minutes_taken(site, since):
    """Return the minutes of work that fall due already, by day."""
    rows = Recheck.objects.active().filter(
        site=site,
        due_on__gt=since,
        due_on__lte=since + ONE_DAY * max(WITHIN_DAYS.values()),
    )
    sums = rows.order_by().values_list("due_on").annotate(minutes=Sum("minutes"))
    return dict(sums)


def started(known, fitting, due_by, *, start_day, unrecorded_before, by, at):
    """Return the unsaved change that gives an old lift its first days.

    It acts from the start day on: what happened to the cart since then counts, but for the
    fitting and what came with it.
    """
    began = moment_of(start_day, 0, known.cart.site.zone)
    since = max(began, known.joined_at, fitting.done_at + TICK)
    return start_up(
        known.cart,
        due_by,
        unrecorded_before=unrecorded_before,
        done_at=min(at, since),
        id=uuid5(fitting.pk if known.has_started else known.cart.pk, STARTED),
        by=by,
        brought_in=True,
    )


def is_unproven_hire(known, fitting) -> bool:
    """Whether a hired cart bears a lift without paperwork: found late, it is tagged."""
    is_hired = known.cart.use_class == UseClass.RENTAL
    is_unproven = fitting.paperwork == Fitting.Paperwork.NONE
    return is_hired and is_unproven and is_still_on(known, fitting)


def tag_id(fitting):
    return uuid5(fitting.pk, "tag")


def tag_of(fitting, *, by, at):
    return Tag(
        id=tag_id(fitting),
        site_id=fitting.site_id,
        cart_id=fitting.cart_id,
        by=by,
        done_at=at,
        written_at=at,
        reason=gettext(TAG_REASON),
    )


def would_be_stopped(cart, kit, day, today) -> bool:
    """Whether a lift fitted on a day and told today, over 7 days late, is past a stop limit.

    One that another lift followed stops nothing.
    """
    noon = noon_of(day, cart.site.zone)
    later = Fitting.objects.standing().filter(cart=cart, done_at__gt=noon)
    if today - day <= COUNTERSIGNED_AFTER or later.exists():
        return False
    book = book_at(cart.site_id, noon)
    asked = {"use_class": cart.use_class, "kit": kit.code}
    rules = [book.rule_for(code, **asked) for code in book.codes_by_start.get(FITTED, ())]
    stops = [rule.rung_terms[0].stop.days for rule in rules if rule]
    return any(days is not None and day + ONE_DAY * days <= today for days in stops)
