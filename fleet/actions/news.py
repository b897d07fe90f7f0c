"""At which sites something may be owed that this process has not looked at yet.

All that is owed comes of recorded facts, of the day, and of who is told. What was looked at is
kept in memory alone: a new process looks everywhere once. Each site is looked at again every
hour whatever is known, a share of them in every sweep: rows may be put right without a fact.
"""

from typing import NamedTuple

from fleet.models import Cart, CartNumber
from fleet.reminding import ROLES_TOLD
from shared.facts import CLOCKS_DIFFER
from shared.models import Change, Entry, JournalHead

LOOK_AGAIN_S = 3600  # judgement, no source

_looked: dict = {}


class Seen(NamedTuple):
    """What a look at a site rested on: its journal, day and hour, and who is told of what."""

    epoch: int
    size: int
    day: object
    hour: int
    told: tuple
    is_settled: bool = True


def unseen(days, *, at) -> dict:
    """Return {site id: what to note once it was looked at}, of the sites that may have news.

    To be asked before the look: a fact that comes in between makes a site unseen again.
    Looked at again and again is where nothing was ever recorded, and where a fact may count
    only later: the clock of who wrote it is ahead.
    """
    heads = JournalHead.objects.in_bulk(list(days))
    now = {pk: _seen(here, heads.get(pk) or JournalHead(), at) for pk, here in days.items()}
    moved = {pk for pk in days if not now[pk].is_settled or _looked.get(pk) != now[pk]}
    told_of = moved | _sites_of_carts({pk: now[pk].size for pk in moved})
    return {pk: now[pk] for pk in days if pk in told_of}


def note(site_id, seen) -> None:
    """Keep in mind that a site was looked at and its notices are written."""
    _looked[site_id] = seen


def note_failed(site_id, seen) -> None:
    """Keep in mind that the look at a site failed: it is unseen until one does not."""
    _looked[site_id] = seen._replace(is_settled=False)


def forget() -> None:
    """Look everywhere again, as a new process does."""
    _looked.clear()


def _seen(here, head, at):
    told = tuple(frozenset(row.person_id for row in here.told(stage)) for stage in ROLES_TOLD)
    is_settled = head.size > 0 and head.last_received_at + CLOCKS_DIFFER <= at
    return Seen(head.epoch, head.size, here.today, _hour(here.site.pk, at), told, is_settled)


def _hour(site_id, at):
    """Return a number that changes each hour, at a second of its own for each site."""
    return int(at.timestamp() + site_id.int % LOOK_AGAIN_S) // LOOK_AGAIN_S


def _sites_of_carts(sizes):
    """Return where the carts are now of which one of these journals has told since its look."""
    carts = set()
    for pk, size in sizes.items():
        before = _looked.get(pk)
        if before and before.size < size:
            entries = Entry.objects.filter(site=pk, seq__gt=before.size).order_by()
            carts |= set(entries.exclude(cart_id=None).values_list("cart_id", flat=True))
            # in another zone the dates of all that were ever there may move
            if Change.objects.filter(what="site", pk__in=entries.values("fact_id")).exists():
                carts |= set(CartNumber.objects.filter(site=pk).values_list("cart_id", flat=True))
    return set(Cart.objects.filter(pk__in=carts).values_list("site_id", flat=True))
