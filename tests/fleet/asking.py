"""All that is answered about the past of a site, as bytes: what tests of old questions compare."""

import json
from dataclasses import asdict

from fleet.as_of import cart_at, desk_at, work_at
from fleet.gather import site_stays
from fleet.past_cart import active_of, ended_of
from fleet.past_sites import site_at
from fleet.reported import unanswered_at
from fleet.timeline import entries_within, items_of


def answers(site, cart_ids, cut) -> bytes:
    """Return the work, the desk's lines and each cart as of a cut, and the site's own words."""
    told = {
        "site": row(site_at(site, cut)),
        "work": [[section, list(work)] for section, work in work_at(site, cut)],
        "reports": [report.pk for report in unanswered_at(site, cut)],
        "desk": [desk_line(line) for line in desk_at(site, cut)],
        "carts": [cart(site, cart_id, cut) for cart_id in cart_ids],
    }
    return json.dumps(told, default=str, sort_keys=True).encode()


def row(one):
    return {field.attname: getattr(one, field.attname) for field in one._meta.concrete_fields}


def desk_line(line):
    instead = line.instead and line.instead.number
    return [line.said.cart.number, line.said.word, line.said.why, instead]


def cart(site, cart_id, cut):
    found = cart_at(site, cart_id, cut)
    if found is None:
        return None
    been_at = {site_id for _since, site_id in site_stays(found.facts)}
    return {
        "row": row(found.row),
        "numbers": [row(number) | {"id": None} for number in found.numbers],
        "rechecks": [row(recheck) for recheck in found.rechecks],
        "tags": [tag.pk for tag in found.tags],
        "said": [found.said.word, found.said.why],
        "active": active_of(found),
        "ended": ended_of(found),
        "timeline": [
            asdict(item)
            for item in items_of(entries_within(found.row, cut, been_at), found.row, cut)
        ],
    }
