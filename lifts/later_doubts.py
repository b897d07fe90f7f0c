"""Looks done with a wrench that was later doubted: told for ever, beside what they found."""

from collections import defaultdict

from django.urls import reverse

from fleet.kinds import RoundNote
from lifts.found_out import looks_found_out_at
from lifts.found_out_words import doubt_words


def doubts_at(cart, cut) -> dict:
    """Return {(joints part id, joint): why each of its looks is in doubt} for a cart."""
    said = defaultdict(list)
    for found in looks_found_out_at([cart.pk], cut):
        if found.is_told:
            said[found.look.fact_id, found.look.name].append(doubt_words(found, cart.site))
    return dict(said)


def round_notes(row, site, cut):
    """Yield a note for each look of a round whose wrench was later doubted."""
    for found in looks_found_out_at([row.cart_id], cut):
        if found.is_told and found.look.fact.round_id == row.pk:
            yield RoundNote(found.look.name, doubt_words(found, site), _url(found, site))


def _url(found, site):
    wrench = found.finding.wrench
    if wrench.site_id != site.pk:
        return ""
    return reverse("found-out", args=[site.slug, wrench.pk, found.finding.id])
