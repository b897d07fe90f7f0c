"""What other tyres change on a cart, for its page: speed, stop, meter, stability. No writes."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.utils.translation import gettext as _

from fleet.kinds import Cut
from fleet.models import MeterFitted
from lifts.classes import claims_at, class_claimed, limit_copied, limit_said, table_at
from lifts.models import BrakeCheck, SpeedRun
from lifts.parts.speed import timed, verdict_of
from lifts.speed import BOUNDARY, predicted_kmh, predicted_verdict
from lifts.speed_classes import limits_of
from lifts.speed_words import NO_CLASS, VERDICT_STYLES, VERDICTS, mean_of, measured
from lifts.stability_page import length
from lifts.stances import compared
from lifts.stopping import growth_at_equal_speed, growth_at_new_top_speed
from lifts.tyre_changes import tyres_of, tyres_on
from shared.models import Role

READERS = (Role.MANAGER, Role.MECHANIC, Role.SURVEYOR)


@dataclass(frozen=True)
class Effect:
    """One thing that tyres change, in words, with its verdict if it has one."""

    name: str
    said: str
    since: datetime | None = None
    verdict: str = ""
    style: str = ""
    note: str = ""


def block(cart, viewer, cut=None):
    """Return the cart page's block on its tyres: (template, context).

    Within a cut it shows alone; without one it stands as of now, and leads to what may be
    done. A constant number of queries.
    """
    role = viewer.role_at(cart.site) if cut is None else None
    cut = cut or Cut.known_now(viewer.at)
    tyres = tyres_of(cart.pk, cut)
    speed_class = _class_of(cart, cut)
    effects = [
        _speed(_last(SpeedRun, cart, cut), tyres, speed_class),
        _stop(cart, tyres, cut),
        _meter(cart, tyres, cut),
        _stability(cart, tyres, cut),
        _by_eye(tyres),
    ]
    context = {
        "cart": cart,
        "tyres": _tyres_said(tyres, cart.site.units),
        "tyres_changed": tyres[-1] if len(tyres) > 1 else None,
        "held_to": _held_to(speed_class),
        "effects": [effect for effect in effects if effect],
        "may_claim": role == Role.MANAGER,
        "may_read": role in READERS,
    }
    return "lifts/cart_tyres.html", context


def _class_of(cart, cut):
    table = table_at(cart.site_id, cut)
    return class_claimed(table, claims_at([cart.pk], cut).get(cart.pk))


def _held_to(speed_class):
    if speed_class is None:
        return str(NO_CLASS)
    return f"{speed_class.name}: {limit_said(limits_of(speed_class))}"


def _last(model, cart, cut):
    known = model.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    return known.filter(cart_id=cart.pk).order_by("done_at", "id").last()


def _tyres_said(tyres, units):
    """Return in words the tyres before the last change, and those since."""
    return [f"{length(one.mm, units)}{f' ({one.code})' if one.code else ''}" for one in tyres[-2:]]


def _speed(run, tyres, speed_class):
    if run is None:
        return Effect(_("Top speed"), _("not recorded: no speed run"))
    on = tyres_on(tyres, run.done_at)
    then_mm = run.tyre_mm or (on and on.mm)
    now_mm = tyres[-1].mm if tyres else None
    if None in (then_mm, now_mm):
        return _speed_measured(run, _("%(speed)s, measured on tyres of a diameter not recorded"))
    if then_mm == now_mm:
        return _speed_measured(run, _("%(speed)s, measured on these tyres"))
    return _speed_predicted(run, predicted_kmh(timed(run).kmh, then_mm, now_mm), speed_class)


def _speed_measured(run, words):
    """Return the speed as measured, with what it proved of the limit of its own day."""
    limit, verdict = limit_copied(run), verdict_of(run)
    said = words % {"speed": measured(timed(run))}
    if limit is not None:
        said = f"{said}; {_asked(limit)}"
    word, style = str(VERDICTS.get(verdict, "")), VERDICT_STYLES.get(verdict, "")
    return Effect(_("Top speed"), said, run.done_at, word, style)


def _asked(limit):
    return _("the class asks for %(limit)s") % {"limit": limit_said(limit)}


def _speed_predicted(run, kmh, speed_class):
    """Return what the last measured speed foretells on the tyres that are on now."""
    words = {"predicted": mean_of(kmh), "measured": mean_of(timed(run).kmh)}
    said = _("%(predicted)s predicted before measuring, from %(measured)s on the tyres of that day")
    name = _("Top speed")
    if speed_class is None:
        return Effect(name, said % words, run.done_at)
    limit = limits_of(speed_class)
    verdict = predicted_verdict(kmh, limit)
    note = _("a person decides") if verdict == BOUNDARY else ""
    said = f"{said % words}; {_asked(limit)}"
    return Effect(name, said, run.done_at, str(VERDICTS[verdict]), VERDICT_STYLES[verdict], note)


def _stop(cart, tyres, cut):
    if len(tyres) < 2:
        return None
    before, now = tyres[-2].mm, tyres[-1].mm
    grown = {
        "equal": f"{growth_at_equal_speed(before, now):.2f}",
        "top": f"{growth_at_new_top_speed(before, now):.2f}",
    }
    said = _(
        "%(equal)s times as long from equal speed, %(top)s times from the new top speed; "
        "neither once the wheels lock"
    )
    check = _last(BrakeCheck, cart, cut)
    is_driven = check is not None and check.has_stop_runs and check.done_at >= tyres[-1].at
    driven, missing = _("a stop run on these tyres is recorded"), _("no stop run on them yet")
    note = driven if is_driven else missing
    return Effect(_("Stopping"), said % grown, note=note)


def _by_eye(tyres):
    """Say what other tyres change that no clock runs for."""
    if len(tyres) < 2:
        return None
    said = _(
        "rub at full lock and full bump, the ride height, and whether what the label says is "
        "still true"
    )
    return Effect(_("To look at"), said, note=_("no clock runs for these"))


def _meter(cart, tyres, cut):
    known = MeterFitted.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    of_distance = known.filter(cart_id=cart.pk, measure=MeterFitted.Measure.DISTANCE)
    meter = of_distance.order_by("done_at", "id").last()
    if meter is None:
        return Effect(_("Distance meter"), _("not recorded"))
    if not (meter.wheel_driven and meter.set_for_mm):
        return Effect(_("Distance meter"), _("not known to count turns of a wheel: as it shows"))
    if not tyres:
        return Effect(_("Distance meter"), _("as it shows: no tyre diameter is recorded"))
    factor = (tyres[-1].mm / meter.set_for_mm).quantize(Decimal("0.001"))
    said = _("1 %(unit)s shown is %(factor)s true %(unit)s") % {
        "unit": meter.unit,
        "factor": f"{factor}",
    }
    return Effect(_("Distance meter"), said, max(meter.done_at, tyres[-1].at))


def _stability(cart, tyres, cut):
    found = compared(cart, cut, tyres)
    name = _("Stability")
    if found is None:
        return Effect(name, _("not recorded: weigh and measure"))
    if found.now is None:
        return Effect(name, _("it cannot be computed: %(why)s") % {"why": found.why_not})
    stances = [stance for stance in (found.before, found.now) if stance]
    loads = [stance.seated or stance.empty for stance in stances]
    factors = " → ".join(f"{load.ssf:.3f}" for load in loads)
    angles = " → ".join(f"{load.tip_deg:.1f}°" for load in loads)
    said = _("stability factor %(factors)s, tip angle %(angles)s%(states)s; for comparison only")
    states = _(" (%(earlier)s → now)") % {"earlier": found.earlier} if found.before else ""
    words = {"factors": factors, "angles": angles, "states": states}
    return Effect(name, said % words, found.measure.done_at)
