"""The work of a site as of a day, recomputed from the facts known by its end."""

from fleet.board import LATER, Work, place_of, section_of
from fleet.gather import ground_of, site_stays
from fleet.kinds import Cut
from fleet.projection import projected
from fleet.standing import facts_of
from shared.clock import end_of
from shared.models import Change, Entry

BATCH_CARTS = 200


def work_on(site, day):
    """Return [(section, Work)] of the site's carts at the end of a day, in the board's order.

    What had happened and was known by then: later facts, late-written ones among them,
    change nothing.
    """
    end = end_of(day, site.zone)
    works = [work for rows in _rows(site, Cut(end, end)) for work in _works(rows, site)]
    found = [(section_of(work, day), work) for work in works]
    shown = [pair for pair in found if pair[0] != LATER]
    return sorted(shown, key=lambda pair: place_of(pair[1], day))


def _rows(site, cut):
    ids = _cart_ids(site, cut)
    for start in range(0, len(ids), BATCH_CARTS):
        read = facts_of(ids[start : start + BATCH_CARTS], cut)
        known = [facts for facts in read.values() if site_stays(facts)]
        ground = ground_of(known, cut)
        yield [projected(facts, ground) for facts in known]


def _cart_ids(site, cut):
    """Return every cart of which the site's journal tells by then."""
    entries = Entry.objects.filter(site=site, kind=Change.kind(), cart_id__isnull=False)
    entries = entries.filter(received_at__lte=cut.known_by)
    return sorted(entries.order_by().values_list("cart_id", flat=True).distinct())


def _works(rows, site):
    for one in rows:
        if one.cart.site_id == site.pk:
            yield from (Work.of(row, one.cart) for row in one.rechecks if not row.ended)
