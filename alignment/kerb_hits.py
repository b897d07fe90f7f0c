"""Whether a cart struck something since its camber and toe were last measured."""

from uuid import UUID

from alignment.models import CamberToeSheet
from fleet.kinds import Cut
from fleet.models import Cart, Report


def hit_since_last_sheet(cart: Cart, cut: Cut, *, but_round: UUID | None = None) -> Report | None:
    """Return the newest kerb hit told of since the cart's last sheet; None for none.

    Both as they stand within the cut, with two queries; ``but_round`` is left out.
    """
    sheets = _standing(CamberToeSheet, cart, cut)
    if but_round is not None:
        sheets = sheets.exclude(round=but_round)
    sheet = sheets.only("done_at").last()
    hits = _standing(Report, cart, cut).filter(noticed=Report.Noticed.KERB_HIT)
    return (hits.filter(done_at__gt=sheet.done_at) if sheet else hits).last()


def _standing(model, cart, cut):
    known = model.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    return known.filter(cart=cart).order_by("done_at", "id")
