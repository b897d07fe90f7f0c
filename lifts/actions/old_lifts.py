"""A lift that ran before anybody told of it: told by form it comes in as by a sheet."""

from django.db import transaction

from fleet.actions import project
from lifts.actions.fitting_tyres import tell_tyres_before
from lifts.actions.fittings import fitting_facts
from lifts.importing_known import known_carts
from lifts.old_lifts import first_days, is_still_on, is_unproven_hire, started, tag_of
from shared.facts import lock_sites, record_all


@transaction.atomic
def fit_old(cart, kit, *, by, at, id=None, lines=(), **about):
    """Record the fitting of an old lift: no clock runs backwards from it.

    Where the lift is still on, the cart gets its first days. What is known of a cart begins with
    the site's start day; of one whose lift was fitted after it, or where there is none, today.
    Hired without paperwork such a one is tagged, if there is a start day.

    Raises WrongSite for a kit of another site, LiftsNothing.
    """
    lock_sites(cart.site_id)
    fitting, *others = fitting_facts(cart, kit, by=by, id=id, brought_in=True, **about)
    filed = record_all([(fitting, lines), *((fact, ()) for fact in others)], at=at)
    if filed[0].first:
        tell_tyres_before(filed[0].fact, at=at)
        _start(filed[0].fact, by=by, at=at)
    project.carts([cart.pk])
    return filed[0].fact


def _start(fitting, *, by, at):
    known = known_carts([fitting.cart_id], fitting.site)[fitting.cart_id]
    site, fitted_on = known.cart.site, known.cart.site.day(fitting.done_at)
    today, start_day = site.day(at), site.start_day
    is_before = start_day is not None and fitted_on < start_day
    facts = []
    if is_still_on(known, fitting) and not (is_before and known.has_started):
        days = first_days(site, max(start_day or today, today), 1)
        facts.append(
            started(
                known,
                fitting,
                {kind: planned[0] for kind, planned in days.items()},
                start_day=start_day or fitted_on,
                unrecorded_before=start_day if is_before else today,
                by=by,
                at=at,
            )
        )
    if start_day is not None and not is_before and is_unproven_hire(known, fitting):
        facts.append(tag_of(fitting, by=by, at=at))
    record_all([(fact, ()) for fact in facts], at=at)
