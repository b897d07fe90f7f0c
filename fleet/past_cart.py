"""What a past page says of one cart, and what two questions about it answer differently."""

from collections import Counter
from datetime import date
from typing import NamedTuple

from django.utils.translation import gettext as _

from fleet.board import STATE_WORDS, Work
from fleet.cart_page import ENDED_SHOWN, active_in_words, ended_in_words
from fleet.due import state_on
from fleet.models import Recheck
from fleet.why_now import day_said, what


class Difference(NamedTuple):
    """One thing of which less was known by the earlier moment."""

    what: str
    before: str
    after: str


def active_of(cart):
    """Return the active rechecks of a CartThen in words, the soonest first."""
    works = sorted(cart.works, key=lambda work: (work.by_day, work.kind_code, work.id))
    return active_in_words(works, cart.row, cart.day)


def ended_of(cart):
    """Return the last rechecks of a CartThen that had ended, newest first."""
    ended = [row for row in cart.rechecks if row.ended]
    ended.sort(key=lambda row: row.id)
    ended.sort(key=lambda row: row.ended_at, reverse=True)
    return [ended_in_words(row, cart.site, cart.day) for row in ended[:ENDED_SHOWN]]


def differences(before, after):
    """Return what one CartThen has otherwise than another, None for a cart not on record."""
    answers = [_answer(before), _answer(after)]
    found = [Difference(_("The desk's answer"), *answers)] if answers[0] != answers[1] else []
    told = _without_alike(_told(before), _told(after))
    rows = {**told[0], **told[1]}
    for key in sorted(rows, key=lambda key: (rows[key].due, rows[key].what, key)):
        words = [one[key].words if key in one else _("not scheduled") for one in told]
        if words[0] != words[1]:
            found.append(Difference(rows[key].what, *words))
    return found


def _without_alike(before, after):
    """Leave out what a round told again started anew, and which reads as it did before."""
    gone = Counter(told for key, told in before.items() if key not in after)
    come = Counter(told for key, told in after.items() if key not in before)
    return _less(before, after, gone & come), _less(after, before, gone & come)


def _less(told, others, alike):
    left = Counter(alike)
    kept = {}
    for key, one in told.items():
        if key not in others and left[one]:
            left[one] -= 1
        else:
            kept[key] = one
    return kept


def _answer(cart):
    if cart is None:
        return _("not on record here")
    return f"{cart.said.word}: {cart.said.why}" if cart.said.why else cart.said.word


class _Told(NamedTuple):
    what: str
    words: str
    due: date


def _told(cart):
    if cart is None:
        return {}
    return {
        row.id: _Told(what(row), _words(row, cart), row.due_on or date.max) for row in cart.rechecks
    }


def _words(row, cart):
    if row.ended == Recheck.Ended.VOID:
        return _("void")
    if row.ended:
        day = day_said(cart.site.day(row.ended_at), cart.day, cart.site)
        return _("closed %(day)s") % {"day": day}
    due = day_said(row.due_on, cart.day, cart.site) if row.due_on else _("not known yet")
    word = STATE_WORDS[state_on(Work.of(row, cart.row), cart.day)]
    return _("%(state)s, due %(day)s") % {"state": word, "day": due}
