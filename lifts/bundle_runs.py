"""The bundle's tables of runs: speed against its class, braking against its reference."""

from decimal import Decimal

from django.utils.translation import gettext_lazy as _

from fleet.bundle.columns import YES_NO, Column, number
from fleet.bundle.exception_tables import is_in_fleet
from fleet.bundle.figure import Figure
from fleet.bundle.shapes import fact_table, said
from lifts.bundle_rounds import OF_ROUND, parts_at, parts_of
from lifts.models import BrakeCheck, SpeedRun
from lifts.parts.speed import timed, verdict_of
from lifts.speed import BOUNDARY, CANT_TELL, OVER
from lifts.speed_classes import KMH_PER_MPH
from lifts.stop_references import mean_share, run_shares
from lifts.stopping import LOOKED_INTO_BELOW, share_of_reference

HUNDREDTH, TENTH, PLACES = Decimal("0.01"), Decimal("0.1"), Decimal("0.0001")


def told_speeds(batch):
    yield from ((cart, run, _speed(run)) for cart, run in parts_of(batch, SpeedRun))


def _speed(run):
    speed = timed(run)
    said = {"speed": speed.kmh, "uncertainty": speed.uncertainty_kmh}
    figures = {f"{name}_kmh": kmh.quantize(HUNDREDTH) for name, kmh in said.items()}
    figures |= {f"{name}_mph": _mph(kmh) for name, kmh in said.items()}
    return {**figures, "verdict": verdict_of(run)}


def _mph(kmh):
    return (kmh / KMH_PER_MPH).quantize(HUNDREDTH)


SPEEDS = fact_table(
    "speed_runs.csv",
    _("each speed run, two directions over a marked length, and what it proves of its class"),
    said("speed_run", _("the run"), field="id"),
    (
        OF_ROUND,
        said("length_typed", _("marked length as typed")),
        said("length_m", _("marked length"), "m", numeric=True),
        said("time_1_s", _("time there"), "s", numeric=True),
        said("time_2_s", _("time back"), "s", numeric=True),
        said("conditions", _("load, charge, slope, wind")),
        said("tyre_mm", _("diameter of its tyres on that day"), "mm", numeric=True),
        number("speed_kmh", _("computed: mean of both ways"), "km/h"),
        number("uncertainty_kmh", _("computed: either side of it, k = 2, timed by hand"), "km/h"),
        number("speed_mph", _("the same mean"), "mph"),
        number("uncertainty_mph", _("the same uncertainty"), "mph"),
        said("class_code", _("short name of the class it was held to; empty: none claimed")),
        said("class_name", _("that class")),
        said("class_source", _("source of its limit, with the edition")),
        said("limit_metric_kmh", _("its limit as printed in km/h"), "km/h", numeric=True),
        said("limit_inch_kmh", _("its limit as printed in mph"), "km/h", numeric=True),
        said("limit_is_below", _("the speed must be below the limit, not at it"), YES_NO),
        said("tags_over", _("the site tags a cart over its class"), YES_NO),
        Column(
            "verdict",
            _(
                "computed: over, under, can't tell, or boundary where the two readings of the "
                "limit disagree; empty: no class"
            ),
        ),
    ),
    told_speeds,
)


def told_brakes(batch):
    yield from ((cart, fact, _brake(fact)) for cart, fact in parts_of(batch, BrakeCheck))


def _brake(fact):
    cells = dict.fromkeys(("run_1_g", "run_2_g", "mean_g", "share_percent", "is_looked_into"))
    if not fact.has_stop_runs:
        return cells
    first, second = (share.quantize(PLACES) for share in run_shares(fact))
    mean = mean_share(fact)
    cells |= {"run_1_g": first, "run_2_g": second, "mean_g": mean}
    if fact.reference_g:
        share = share_of_reference(mean, fact.reference_g)
        percent = (100 * share).quantize(TENTH)
        cells |= {"share_percent": percent, "is_looked_into": share < LOOKED_INTO_BELOW}
    return cells


def _measured(name, meaning, unit="mm"):
    typed = said(f"{name}_typed", _("%s, as typed") % meaning)
    return typed, said(f"{name}_{unit}", meaning, unit, numeric=True)


BRAKES = fact_table(
    "brake_checks.csv",
    _("each brake check, with its two timed stops and their share of the reference"),
    said("brake_check", _("the brake check"), field="id"),
    (
        OF_ROUND,
        said("is_pedal_low", _("pedal low or soft"), YES_NO),
        said("holds_on_slope", _("park brake holds on a slope"), YES_NO),
        said("cable_free", _("cable free at full droop"), YES_NO),
        said("bracket_moved", _("bracket of the cable was moved"), YES_NO),
        said("is_even", _("equaliser even left and right"), YES_NO),
        said("jam_nut_nipped", _("jam nut of the adjuster nipped"), YES_NO),
        *_measured("travel_before", _("pedal travel before")),
        *_measured("travel_after", _("pedal travel after")),
        *_measured("marked", _("marked length of the approach"), "m"),
        said("time_1_s", _("time over it, first run"), "s", numeric=True),
        *_measured("stop_1", _("distance to the stop, first run"), "m"),
        said("time_2_s", _("time over it, second run"), "s", numeric=True),
        *_measured("stop_2", _("distance to the stop, second run"), "m"),
        number("run_1_g", _("computed: braking of the first run, of standard gravity"), "g"),
        number("run_2_g", _("computed: that of the second"), "g"),
        number("mean_g", _("computed: their mean"), "g"),
        said("reference_g", _("braking that it was held against; empty: none"), "g", numeric=True),
        said("reference_said", _("whose that is")),
        number("share_percent", _("computed: mean of the runs, of the reference"), "%"),
        Column("is_looked_into", _("computed: below 80 %; judgement, no source"), YES_NO),
    ),
    told_brakes,
)


class SpeedCount:
    """Counts the lifted carts whose last speed run proves them over their class, or may."""

    def __init__(self, scope):
        self.runs, self.over, self.unsure = 0, 0, 0

    def take(self, batch):
        for cart in batch.carts:
            if is_in_fleet(cart) and cart.row.is_lifted:
                self._count(parts_at(cart, cart.of_site(cart.facts.rounds), SpeedRun))

    def _count(self, runs):
        said = verdict_of(runs[-1]) if runs else ""
        self.runs += bool(said)
        self.over += said == OVER
        self.unsure += said in (CANT_TELL, BOUNDARY)

    def figures(self, lines):
        for code, title, value, definition in (
            ("speed_judged", _("lifted carts timed against a class"), self.runs, BY_LAST),
            ("speed_over", _("lifted carts over their class"), self.over, PROVED),
            ("speed_unsure", _("lifted carts that may be over their class"), self.unsure, MAY_BE),
        ):
            yield Figure(code, title, value, _("carts"), definition, SPEEDS.name)


BY_LAST = _("lifted carts in the fleet whose last speed run was held to a class, however old")
PROVED = _("of those, the last run less its uncertainty is above the limit of the class")
MAY_BE = _("of those, the limit lies within the uncertainty, or its two readings disagree")
