"""What turns of tie rods and sleeves did on a cart, and on the carts with its kit. No writes."""

from collections import defaultdict
from typing import NamedTuple
from uuid import UUID

from alignment.advice import Steering, formula_change
from alignment.learning import Learnt, Seen, rods_seen, sleeves_seen
from alignment.models import CamberReading, CamberToeSheet, ToeReading, Turn
from alignment.sheets import sheet_of
from fleet.kinds import Cut, register

MOST_SHEETS = 400

__all__ = ["Learnt", "learnt"]


class _OfSheet(NamedTuple):
    rods: list[Seen]
    sleeves: list[Seen]


def learnt(
    cart, kit_code: str, cut: Cut, *, steering: Steering, but_round: UUID | None = None
) -> Learnt:
    """Return what was seen on sheets of the cart's site that stand within the cut.

    Of carts that had the kit ("" for none) on when they were measured, at most the newest
    400, this cart's own before the others', without that of ``but_round``. Each change stands
    beside what today's ``steering`` gives for its flats. Constant queries.
    """
    facts = _sheets(cart, kit_code, cut, but_round)
    lines = _lines_of([fact.pk for fact in facts])
    kit = [seen_on(fact, lines[fact.pk], steering) for fact in facts]
    own = [one for fact, one in zip(facts, kit, strict=True) if fact.cart_id == cart.pk]
    return Learnt(
        rod_cart=[one for seen in own for one in seen.rods],
        rod_kit=[one for seen in kit for one in seen.rods],
        sleeve_cart=[one for seen in own for one in seen.sleeves],
        sleeve_kit=[one for seen in kit for one in seen.sleeves],
    )


def seen_on(fact, lines, steering: Steering) -> _OfSheet:
    sheet = sheet_of(fact, lines)

    def formula_of(turn):
        return formula_change(turn, steering, sheet.diameter_mm)

    return _OfSheet(rods_seen(sheet, formula_of), sleeves_seen(sheet, formula_of))


def _sheets(cart, kit_code, cut, but_round) -> list[CamberToeSheet]:
    counted = Turn.objects.exclude(longer_flats=None).values("fact")
    standing = CamberToeSheet.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    turned = standing.filter(site_id=cart.site_id, pk__in=counted).order_by("-done_at", "-id")
    if but_round is not None:
        turned = turned.exclude(round=but_round)
    measured = list(turned.values_list("pk", "cart_id", "done_at"))
    kits = _kits({cart_id for _pk, cart_id, _at in measured}, cart.site.zone, cut)
    with_kit = [
        (cart_id != cart.pk, pk) for pk, cart_id, at in measured if kits(cart_id, at) == kit_code
    ]
    newest = [pk for _is_other, pk in sorted(with_kit, key=lambda one: one[0])[:MOST_SHEETS]]
    return list(CamberToeSheet.objects.filter(pk__in=newest).order_by("done_at", "id"))


def _kits(cart_ids, zone, cut):
    """Return what tells the code of the kit that a cart had on at a moment, "" for none."""
    chapters = defaultdict(list)
    for source in register.sources:
        for one in source.chapters(list(cart_ids), cut):
            chapters[one.cart_id].append(one)

    def kit_at(cart_id, at):
        on = [
            one for one in chapters[cart_id] if one.earliest(zone) <= at and not one.is_off_at(at)
        ]
        return max(on, key=lambda one: one.from_at).kit_code if on else ""

    return kit_at


def _lines_of(fact_ids):
    lines = defaultdict(list)
    for model in (CamberReading, ToeReading, Turn):
        for line in model.objects.filter(fact__in=fact_ids).order_by("fact", "place"):
            lines[line.fact_id].append(line)
    return lines
