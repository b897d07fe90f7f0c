"""The bundle's tables of camber and toe: each result with what it proves; what can't be told."""

from math import isfinite

from django.utils.translation import gettext_lazy as _

from alignment.bundle_readings import rounded, unit_of
from alignment.bundle_told import told_sheets
from alignment.counting import CAMBERS, SIDE_TO_SIDE, TOE, counting
from alignment.geometry import toe_total_deg
from alignment.sheets import judged, sheet_of
from alignment.uncertainty import CANT_TELL
from fleet.bundle.columns import CART, MOMENT, Column, Table, number
from fleet.bundle.figure import LineCount
from fleet.bundle.shapes import blank, said

NOT_MEASURED = "not measured"
# no figure says that nothing else can be
SURE_NOT, SURE = 0.001, 0.999
LIMITS = {
    "camber left": ("camber_low_deg", "camber_high_deg"),
    "camber right": ("camber_low_deg", "camber_high_deg"),
    TOE: ("toe_low_mm", "toe_high_mm"),
}


def result_rows(batch):
    """Yield each result of each sheet, and what was not measured so that it counts."""
    for one in told_sheets(batch):
        about = {
            **one.about(batch.scope),
            "by": batch.scope.name(one.fact.by_id),
            "diameter_mm": one.fact.diameter_mm,
            "limits_from": one.fact.limits_from,
        }
        for row in _results(one.fact, one.lines):
            yield {**about, **row}


def _results(fact, lines):
    final, passes = judged(fact, lines), _passes(fact, lines)
    for name, result in final.results.items():
        low, high = _limits(fact, name)
        yield {
            "result": name,
            "value": rounded(result.value),
            "spread": rounded(result.expanded),
            "low": low,
            "high": high,
            "unit": unit_of(name),
            "verdict": result.verdict,
            "total_deg": _total_deg(fact, name, result),
            **(blank(OF_PROOF) if fact.passes is None else _proof(result)),
            "pass": passes[name],
        }
    for name in final.missing:
        yield {**dict.fromkeys(FIGURES, ""), "result": name, "verdict": NOT_MEASURED}


def _total_deg(fact, name, result):
    if name != TOE or fact.diameter_mm is None:
        return None
    return rounded(toe_total_deg(result.value, float(fact.diameter_mm)))


def _proof(result):
    return {
        "probability_inside": rounded(min(max(result.probability, SURE_NOT), SURE)),
        "freedom": rounded(result.freedom) if isfinite(result.freedom) else None,
        "readings": result.count,
    }


def _passes(fact, lines):
    """Return {result: the pass whose readings count}, of both wheels the later one."""
    if fact.passes is None:
        return dict.fromkeys((*CAMBERS, SIDE_TO_SIDE, TOE))
    passes = {
        name: read[0].pass_no for name, read in counting(sheet_of(fact, lines)).items() if read
    }
    wheels = [passes[name] for name in CAMBERS if name in passes]
    return {**passes, SIDE_TO_SIDE: max(wheels, default=None)}


def _limits(fact, name):
    if name in LIMITS:
        return [getattr(fact, column) for column in LIMITS[name]]
    return [-fact.side_to_side_deg, fact.side_to_side_deg]


OF_PROOF = (
    number(
        "probability_inside",
        _("probability that it lies inside, 0.001 to 0.999; empty: not asked yet"),
    ),
    number("freedom", _("effective degrees of freedom; empty: without end, or not asked yet")),
    number("readings", _("readings that it is the mean of; empty: not asked yet")),
)
FIGURES = (
    *("value", "spread", "low", "high", "unit", "total_deg", "pass"),
    *(column.name for column in OF_PROOF),
)
COLUMNS = (
    *CART,
    Column("sheet", _("the camber and toe sheet"), field="id"),
    Column("round", _("the round; readings are in alignment_readings.csv"), field="round"),
    Column("done_at", _("when it was measured"), MOMENT, field="done_at"),
    Column("by", _("who recorded it")),
    Column("result", _("camber left, camber right, side to side (left less right), or toe")),
    number("value", _("measured; minus camber is top in, plus toe is toe-in"), _("see unit")),
    number("spread", _("uncertainty to either side (k = 2)"), _("see unit")),
    number("low", _("lower limit then"), _("see unit")),
    number("high", _("upper limit then"), _("see unit")),
    Column("unit", _("unit of the figures"), "deg, mm"),
    Column("verdict", _("inside, can't tell, outside, or not measured")),
    *OF_PROOF,
    number("pass", _("pass whose readings count; empty: not asked yet")),
    said("diameter_mm", _("tyre diameter at which toe was read"), "mm", numeric=True),
    number("total_deg", _("computed: toe as the angle between both wheels, plus for toe-in"), "°"),
    said("limits_from", _("where the limits are from; empty: not asked yet")),
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
