"""A lift that ran before anybody told of it: told by form it comes in as by a sheet."""

from django.db import transaction

from fleet.actions import project, sites
from lifts.actions.fitting_tyres import tell_tyres_before
from lifts.actions.fittings import fitting_facts
from lifts.importing_known import known_carts
from lifts.old_lifts import first_days, is_still_on, is_unproven_hire, started, tag_of
from shared.facts import lock_sites, record_all


@transaction.atomic
def fit_old(cart, kit, *, by, at, id=None, lines=(), **about):
    """Record the fitting of an old lift: no clock runs backwards from it.

    Where the lift is still on, the cart gets its first days. Without a start day the site's
    becomes today. A lift of that day or after came to light late: what is known of the cart
    begins today, and hired without paperwork it is tagged.

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
    site = known.cart.site
    today = site.day(at)
    if site.start_day is None:
        sites.change_site(site, {"start_day": today}, by=by, at=at)
    is_late = site.day(fitting.done_at) >= site.start_day
    facts = []
    if is_still_on(known, fitting) and (is_late or not known.has_started):
        days = first_days(site, max(site.start_day, today), 1)
        facts.append(
            started(
                known,
                fitting,
                {kind: planned[0] for kind, planned in days.items()},
                start_day=site.start_day,
                unrecorded_before=today if is_late else site.start_day,
                by=by,
                at=at,
            )
        )
    if is_late and is_unproven_hire(known, fitting):
        facts.append(tag_of(fitting, by=by, at=at))
    record_all([(fact, ()) for fact in facts], at=at)
