"""A cart's stability before and after its lift and tyres, from what is recorded. No writes."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from decimal import Decimal
from statistics import mean

from django.utils.translation import gettext as _

from fleet.kinds import Cut
from lifts.models import AxleLift, Fitting, FittingLength, StabilityMeasure
from lifts.source import LiftSource
from lifts.stability import cg_from_lifts
from lifts.tipping import Shift, Stance, Weighed, stance_of
from lifts.tyre_changes import TyresFrom, tyres_of, tyres_on
from shared.units import shown

JUST_BEFORE = timedelta(microseconds=1)
STEPS_ASKED = 3  # ISO 10392


@dataclass
class Lift:
    """A lift on a cart from a moment to a moment; ``tracks_mm`` before and after, if recorded."""

    fitting: Fitting
    until_at: object = None
    tracks_mm: tuple[float | None, float | None] = (None, None)

    @property
    def rise_mm(self) -> float:
        """Return the mean rise of both ends: the measured one, else the kit's."""
        ends = ("rise_front_mm", "rise_rear_mm")
        rises = [getattr(self.fitting, end) for end in ends]
        rises = [
            getattr(self.fitting.kit, end) if rise is None else rise
            for end, rise in zip(ends, rises, strict=True)
        ]
        return float(mean([rise for rise in rises if rise is not None] or [Decimal(0)]))

    def is_on(self, at):
        return self.fitting.done_at <= at and (self.until_at is None or at < self.until_at)


@dataclass
class Compared:
    """A measure with the stances that follow from it.

    ``before`` is None where nothing is known to have changed, else ``earlier`` names it in
    words; ``why_not`` says why nothing can be computed; ``assumed`` are the steps between
    measure and stances, in words. ``tyres_mm`` are the tyres of each stance there is, before
    first, None where not known.
    """

    measure: StabilityMeasure
    steps: Sequence[AxleLift]
    now: Stance | None = None
    before: Stance | None = None
    why_not: str = ""
    earlier: str = ""
    assumed: list[str] = field(default_factory=list)
    tyres_mm: list[float | None] = field(default_factory=list)

    @property
    def has_few_steps(self):
        return 0 < len(self.steps) < STEPS_ASKED


@dataclass(frozen=True)
class _State:
    """What a cart stands on: how far lifted, on which tyres, on which track if recorded."""

    rise_mm: float = 0.0
    tyre_mm: Decimal | None = None
    track_mm: float | None = None


def compared(cart, cut: Cut, tyres: Sequence[TyresFrom] | None = None) -> Compared | None:
    """Return the last measure of a cart within a cut, compared; None where none is recorded.

    A constant number of queries. ``tyres`` are those of ``tyres_of``, if they are at hand.
    """
    known = StabilityMeasure.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    last = known.filter(cart_id=cart.pk).select_related("by").order_by("done_at", "id").last()
    if last is None:
        return None
    tyres = tyres_of(cart.pk, cut) if tyres is None else tyres
    found = Compared(last, list(last.lines.order_by("place")))
    try:
        _compare(found, _lifts(cart, cut), tyres, cart.site.units)
    except ValueError as error:
        found.why_not = str(error)
    return found


def weighed(measure, steps) -> Weighed:
    """Return a measure as numbers; raises ValueError for one that cannot be."""
    return Weighed(
        float(measure.mass_kg),
        float(measure.track_mm),
        cg_mm_of(measure, steps),
        _float(measure.people_kg),
        _float(measure.seated_mm),
    )


def cg_mm_of(measure, steps) -> float:
    """Return the height of the empty cart's centre of gravity: as told, or from its axle lifts."""
    if measure.cg_mm is not None:
        return float(measure.cg_mm)
    return cg_from_lifts(
        [(float(step.raised_mm), float(step.gained_kg)) for step in steps],
        hub_height_mm=float(measure.hub_height_mm),
        wheelbase_mm=float(measure.wheelbase_mm),
        mass_kg=float(measure.mass_kg),
    )


def _float(value):
    return None if value is None else float(value)


def _lifts(cart, cut):
    spans = {span.fitting_id: span for span in LiftSource().chapters([cart.pk], cut)}
    fittings = Fitting.objects.filter(pk__in=spans).select_related("kit").order_by("done_at", "id")
    lines = FittingLength.objects.filter(fact__in=spans, what=FittingLength.What.TRACK)
    tracks = {}
    for line in lines.order_by("fact", "place"):
        tracks.setdefault(line.fact_id, []).append((line.before_mm, line.after_mm))
    return [Lift(one, spans[one.pk].until_at, _means(tracks.get(one.pk, []))) for one in fittings]


def _means(pairs):
    """Return the mean track before and after of those ends that were measured."""
    sides = [[mm for mm in side if mm is not None] for side in zip(*pairs, strict=True)]
    before, after = (float(mean(side)) if side else None for side in sides or ([], []))
    return before, after


def _compare(found, lifts, tyres, units):
    measure = found.measure
    lift = next((one for one in reversed(lifts) if one.until_at is None), None)
    was_on = next((one for one in lifts if one.is_on(measure.done_at)), lift)
    then = _State(
        was_on.rise_mm if measure.is_lifted and was_on else 0.0,
        measure.tyre_mm,
        float(measure.track_mm),
    )
    now = _now(lift, tyres, then, measure)
    before = _before(lift, tyres, then, measure)
    figures = weighed(measure, found.steps)
    found.now = stance_of(figures, _shift(then, now))
    found.tyres_mm = [_float(now.tyre_mm)]
    if before != now:
        found.before = stance_of(figures, _shift(then, before))
        found.earlier = _("before the lift") if lift else _("on the earlier tyres")
        found.tyres_mm.insert(0, _float(before.tyre_mm))
        found.assumed = list(_assumed(before, now, units))


def _now(lift, tyres, then, measure):
    tyre_mm = tyres[-1].mm if tyres else then.tyre_mm
    if lift is None:
        return _State(0.0, tyre_mm, then.track_mm)
    after_mm = None if measure.is_lifted else lift.tracks_mm[1]
    return _State(lift.rise_mm, tyre_mm, after_mm or then.track_mm)


def _before(lift, tyres, then, measure):
    """Return the state before the present lift, or without one before the last tyre change."""
    if lift is None:
        earlier = tyres[-2].mm if len(tyres) > 1 else None
        return _State(0.0, earlier or (tyres[-1].mm if tyres else then.tyre_mm), then.track_mm)
    on = tyres_on(tyres, lift.fitting.done_at - JUST_BEFORE)
    tyre_mm = lift.fitting.tyre_before_mm or (on.mm if on else None)
    before_mm = lift.tracks_mm[0] if measure.is_lifted else None
    return _State(0.0, tyre_mm or _first_mm(tyres) or then.tyre_mm, before_mm or then.track_mm)


def _first_mm(tyres):
    return tyres[0].mm if tyres else None


def _shift(then, other):
    grown = 0.0
    if then.tyre_mm is not None and other.tyre_mm is not None:
        grown = float(other.tyre_mm - then.tyre_mm)
    return Shift(other.rise_mm - then.rise_mm, grown, other.track_mm)


def _assumed(before, now, units):
    if before.rise_mm != now.rise_mm:
        said = shown(Decimal(now.rise_mm - before.rise_mm), "length", units, places=2)
        yield (
            _(
                "The lift counts as %(rise)s, the mean of both ends; 85 %% of the empty cart and "
                "all of the people ride on the springs: judgement, no source."
            )
            % {"rise": said}
        )
    if None in (before.tyre_mm, now.tyre_mm):
        yield _("Tyre diameters are not recorded on both sides: taken as unchanged.")
    elif before.tyre_mm != now.tyre_mm:
        sizes = [shown(mm, "length", units, places=2) for mm in (before.tyre_mm, now.tyre_mm)]
        yield _("Tyres %(before)s before, %(now)s now.") % dict(
            zip(("before", "now"), sizes, strict=True)
        )
    if before.track_mm == now.track_mm:
        yield _("No other track is recorded: taken as unchanged.")
