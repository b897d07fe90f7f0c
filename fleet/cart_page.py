"""What a cart's page shows beside its timeline and meters: its rechecks, and its photos."""

from typing import NamedTuple

from django.utils.translation import gettext as _

from fleet.board import STATE_WORDS, Work
from fleet.due import state_on
from fleet.kinds import Cut
from fleet.models import Recheck
from fleet.orders import orders_said
from fleet.reach import DAYS
from fleet.why_now import day_said, what, when, why_now
from shared.models import Photo

ENDED_SHOWN = 12
PHOTOS_SHOWN = 4
OF_LABEL = (Photo.Shows.LABEL_SEAT, Photo.Shows.LABEL_CLOSE)


class Active(NamedTuple):
    """An active recheck in words."""

    state: str
    state_word: str
    what: str
    why: str
    when: str
    since: str
    at_reading: str
    minutes: int


class Ended(NamedTuple):
    """A recheck that was closed, or made void for a reason."""

    what: str
    due: str
    how: str
    on: str
    reason: str


def active_rechecks(cart, today):
    """Return the cart's active rechecks, the soonest first."""
    rechecks = Recheck.objects.active().filter(cart=cart).order_by("due_on", "kind_code", "id")
    works = [Work.of(recheck, cart) for recheck in rechecks]
    return works, active_in_words(works, cart, today)


def active_in_words(works, cart, today):
    orders = orders_said(works)
    return [_active(work, cart, today, orders.get(work.anchor_id)) for work in works]


def _active(work, cart, today, ordered):
    state = state_on(work, today)
    due, since = when(work, today, cart.site)
    word = str(STATE_WORDS[state])
    why = "; ".join(filter(None, [why_now(work, today, cart.site), ordered]))
    return Active(state, word, what(work), why, due, since, at_reading(work, cart), work.minutes)


def at_reading(work, cart):
    """Return the meters' figures at which it falls due, whichever limit governs."""
    hours, distance = work.hours_at_due, work.distance_at_due
    said = [] if hours is None else [f"{hours:,.1f} h"]
    if distance is not None:
        said.append(f"{distance:,.1f} {cart.distance_unit}")
    if said and work.governs == DAYS:
        said.append(_("or by the day, whichever comes first"))
    return ", ".join(said)


def ended_rechecks(cart, today):
    """Return the last rechecks that ended, newest first."""
    rows = Recheck.objects.filter(cart=cart).exclude(ended="").order_by("-ended_at", "id")
    return [ended_in_words(row, cart.site, today) for row in rows[:ENDED_SHOWN]]


def ended_in_words(row, site, today):
    return Ended(
        what(row),
        day_said(row.due_on, today, site) if row.due_on else "",
        _ended_how(row),
        day_said(site.day(row.ended_at), today, site) if row.ended_at else "",
        _(row.void_reason) if row.void_reason else "",
    )


def _ended_how(row):
    if row.ended == Recheck.Ended.VOID:
        return str(Recheck.Ended.VOID.label)
    state = STATE_WORDS.get(row.ended_state, row.ended_state)
    return _("closed when %(state)s") % {"state": state}


def label_photos(cart, viewer):
    """Return the last photos of the cart's warning label, newest first."""
    return label_photos_at(cart, viewer, Cut.known_now(viewer.at))


def label_photos_at(cart, viewer, cut):
    photos = Photo.objects.visible_to(viewer).known(cut.happened_by, cut.known_by)
    photos = photos.standing(cut.known_by)
    photos = photos.filter(cart_id=cart.pk, site_id=cart.site_id, shows__in=OF_LABEL)
    return photos.order_by("-done_at", "-id")[:PHOTOS_SHOWN]
