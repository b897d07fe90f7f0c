"""The tyres of a cart over its life, as its register was told. No writes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from fleet.kinds import Cut
from shared.models import Change


@dataclass(frozen=True)
class TyresFrom:
    """Tyres of a diameter, from a moment on; ``code`` is what stands on them."""

    at: datetime
    mm: Decimal
    code: str = ""


def tyres_of(cart_id, cut: Cut) -> list[TyresFrom]:
    """Return the tyres whose diameter is known within a cut, by time, with one query.

    Told again at the same diameter, they are the tyres that were on before.
    """
    changes = Change.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    found = []
    for change in changes.filter(cart_id=cart_id).order_by("done_at", "id"):
        if change.value.get("tyre_mm"):
            mm = Decimal(change.value["tyre_mm"])
            if not found or found[-1].mm != mm:
                found.append(TyresFrom(change.done_at, mm, change.value.get("tyre", "")))
    return found


def tyres_on(tyres: Sequence[TyresFrom], at: datetime) -> TyresFrom | None:
    """Return the tyres that were on at a moment, None where no diameter was known then."""
    return next((one for one in reversed(tyres) if one.at <= at), None)
