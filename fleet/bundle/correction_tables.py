"""What was taken back: struck or corrected entries, moves to another cart, verdicts softened."""

import json
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import moment
from fleet.bundle.columns import CART, MOMENT, Column, Table, number
from fleet.bundle.showing import Showing
from fleet.models import Round
from fleet.softened import softened_in
from shared.models import Entry, Strike

PIECE = 200


def correction_rows(scope):
    """Yield each entry that was taken back, with what it had said."""
    entries = Entry.objects.filter(site=scope.site, received_at__lte=scope.cut.known_by)
    answers = entries.exclude(corrects=None).order_by("seq")
    showing = Showing(scope)
    for some in _in_pieces(answers.iterator(chunk_size=PIECE)):
        old = {entry.fact_id: entry for entry in entries.filter(fact_id__in=some)}
        for fact_id, answer in some.items():
            if fact_id in old and showing.shows(old[fact_id]):
                yield _taken_back(old[fact_id], answer, scope)


def _in_pieces(answers):
    piece = {}
    for answer in answers:
        piece[answer.corrects] = answer
        if len(piece) == PIECE:
            yield piece
            piece = {}
    yield piece


def _body(entry):
    return json.loads(bytes(entry.body))


def _taken_back(old, answer, scope):
    is_struck = answer.kind == Strike.kind()
    said = _body(answer)
    return {
        "entry": old.fact_id,
        "number": old.seq,
        "kind": old.kind,
        "cart_id": old.cart_id,
        "received_at": moment(old.received_at, scope.zone),
        "taken_back_at": moment(answer.received_at, scope.zone),
        "taken_back_by": scope.name(UUID(said["by"])),
        "how": "struck" if is_struck else "corrected",
        "why": said["why_corrected"],
        "now": "" if is_struck else answer.fact_id,
        "old_value": bytes(old.body).decode(),
    }


CORRECTIONS = Table(
    "corrections.csv",
    _("entries that were struck or corrected, and what they had said"),
    (
        Column("entry", _("the entry taken back")),
        number("number", _("its number in the journal of the site")),
        Column("kind", _("what kind of entry")),
        Column("cart_id", _("cart that it was about")),
        Column("received_at", _("when it had arrived"), MOMENT, field="received_at"),
        Column("taken_back_at", _("when it was taken back"), MOMENT),
        Column("taken_back_by", _("by whom")),
        Column("how", _("struck: nothing in its place; corrected: another entry")),
        Column("why", _("why")),
        Column("now", _("entry in its place")),
        Column("old_value", _("what it had said, as recorded (JSON)")),
    ),
    correction_rows,
    per_cart=False,
    entry="entry",
    key=("entry",),
)

SOFTENED = Table(
    "softened.csv",
    _("corrections that turned a verdict better after a tag, a report or more than 7 days"),
    (
        *CART,
        Column("round", _("round of which it is a part; see rounds.csv")),
        Column("entry", _("the entry that was corrected, moved or struck; see corrections.csv")),
        Column("corrected_by_entry", _("the entry that did so")),
        Column("part", _("part of the round")),
        Column("what", _("what the verdict is of")),
        Column("before", _("the verdict before")),
        Column("after", _("the verdict since; empty: it is told no more of this cart")),
        Column("came_after", _("tag, report, more than 7 days later than the first telling")),
        Column("tag_or_report", _("last tag or report on the cart before the correction, if any")),
        Column("tag_or_report_done_at", _("when that was made"), MOMENT),
        Column("corrected_at", _("when the correction arrived here"), MOMENT),
        Column("by", _("who corrected")),
        Column("why", _("why")),
    ),
    softened_in,
    key=("entry", "what"),
)


AWAY, HERE = "to another cart", "from another cart"


def move_rows(batch):
    """Yield each round that was moved between carts, once for the cart it left, once where to."""
    rounds = Entry.objects.filter(kind=Round.kind(), received_at__lte=batch.scope.cut.known_by)
    here = list(rounds.filter(cart_id__in=batch.ids).defer("body").order_by("seq"))
    answers = {one.corrects: one for one in rounds.filter(corrects__in=_ids(here))}
    came = [one.corrects for one in here if one.corrects]
    first = {one.fact_id: one for one in rounds.filter(fact_id__in=came)}
    carts = {cart.id: cart for cart in batch.carts}
    for entry in here:
        if carts[entry.cart_id].own([entry]):
            yield from _moved(entry, answers.get(entry.fact_id), AWAY, carts[entry.cart_id])
            yield from _moved(first.get(entry.corrects), entry, HERE, carts[entry.cart_id])


def _ids(entries):
    return [entry.fact_id for entry in entries]


def _moved(old, new, moved, cart):
    if None in (old, new) or old.cart_id == new.cart_id:
        return
    said, scope = _body(new), cart.scope
    yield {
        **cart.named(datetime.fromisoformat(said["done_at"])),
        "moved": moved,
        "other_cart_id": new.cart_id if moved == AWAY else old.cart_id,
        "round_before": old.fact_id,
        "round_now": new.fact_id,
        "moved_at": moment(new.received_at, scope.zone),
        "by": scope.name(UUID(said["by"])),
        "why": said["why_corrected"],
    }


MOVES = Table(
    "moves.csv",
    _("rounds written on the wrong cart and moved to the right one; both carts show it"),
    (
        *CART,
        Column("moved", _("from another cart to this one, or from this one to another")),
        Column("other_cart_id", _("the other cart; see register.csv")),
        Column("round_before", _("the round as first written; see corrections.csv")),
        Column("round_now", _("the round as moved; see rounds.csv")),
        Column("moved_at", _("when the move arrived here"), MOMENT),
        Column("by", _("who moved it")),
        Column("why", _("why")),
    ),
    move_rows,
    key=("cart_id", "round_now"),
)
