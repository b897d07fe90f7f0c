"""The bundle's tables of camber and toe: each result with what it proves; what can't be told."""

from decimal import Decimal

from django.utils.translation import gettext_lazy as _

from alignment.models import CamberToeSheet
from alignment.parts import CamberToePart
from alignment.sheets import judged
from alignment.uncertainty import CANT_TELL
from fleet.bundle.cells import done_at
from fleet.bundle.columns import CART, MOMENT, Column, Table, number
from fleet.bundle.figure import LineCount

NOT_MEASURED = "not measured"
DEG, MM = "deg", "mm"
DECIMALS = Decimal("0.001")
LIMITS = {
    "camber left": ("camber_low_deg", "camber_high_deg"),
    "camber right": ("camber_low_deg", "camber_high_deg"),
    "toe": ("toe_low_mm", "toe_high_mm"),
}


def result_rows(batch):
    """Yield each result of each sheet, and what was not measured so that it counts."""
    sheets = [
        (cart, fact)
        for cart in batch.carts
        for row in cart.own(cart.facts.rounds)
        for fact, _outcome in cart.facts.parts.get(row.pk, ())
        if isinstance(fact, CamberToeSheet)
    ]
    lines = CamberToePart().lines_of([fact.pk for _cart, fact in sheets]) if sheets else {}
    for cart, fact in sheets:
        about = {
            **cart.named(fact.done_at),
            "sheet": fact.pk,
            "round": fact.round_id,
            "done_at": done_at(fact, batch.scope.zone),
            "by": batch.scope.name(fact.by_id),
        }
        for row in _results(fact, judged(fact, lines.get(fact.pk, []))):
            yield {**about, **row}


def _results(fact, final):
    for name, result in final.results.items():
        low, high = _limits(fact, name)
        yield {
            "result": name,
            "value": _rounded(result.value),
            "spread": _rounded(result.expanded),
            "low": low,
            "high": high,
            "unit": MM if name == "toe" else DEG,
            "verdict": result.verdict,
        }
    for name in final.missing:
        yield {**dict.fromkeys(FIGURES, ""), "result": name, "verdict": NOT_MEASURED}


FIGURES = ("value", "spread", "low", "high", "unit")


def _limits(fact, name):
    if name in LIMITS:
        return [getattr(fact, column) for column in LIMITS[name]]
    return [-fact.side_to_side_deg, fact.side_to_side_deg]


def _rounded(value):
    # a minus before nothing says nothing
    return Decimal(str(value)).quantize(DECIMALS) + 0


COLUMNS = (
    *CART,
    Column("sheet", _("the camber and toe sheet"), field="id"),
    Column("round", _("the round; its raw readings are in findings.csv"), field="round"),
    Column("done_at", _("when it was measured"), MOMENT, field="done_at"),
    Column("by", _("who recorded it")),
    Column("result", _("camber left, camber right, side to side (left less right), or toe")),
    number("value", _("measured; minus camber is top in, plus toe is toe-in"), _("see unit")),
    number("spread", _("uncertainty to either side (k = 2)"), _("see unit")),
    number("low", _("lower limit then"), _("see unit")),
    number("high", _("upper limit then"), _("see unit")),
    Column("unit", _("unit of the figures"), "deg, mm"),
    Column("verdict", _("inside, can't tell, outside, or not measured")),
)
ALIGNMENTS = Table(
    "alignments.csv",
    _("each camber and toe result with its uncertainty, its limits and what that proves"),
    COLUMNS,
    result_rows,
    entry="sheet",
    key=("sheet", "result"),
)
CANNOT_TELL = Table(
    "cannot_tell.csv",
    _("camber and toe results too near a limit for their uncertainty: it can't be told"),
    COLUMNS,
    lambda batch: (row for row in result_rows(batch) if row["verdict"] == CANT_TELL),
    entry="sheet",
    key=("sheet", "result"),
)
CANNOT_TELL_COUNT = LineCount(
    "cannot_tell",
    _("camber and toe results that can't be told"),
    CANNOT_TELL.name,
    _("results of the period whose uncertainty reaches past a limit; measured, listed, no tag"),
)
