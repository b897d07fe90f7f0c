"""What a speed run says, in words: its figures, and what they prove of a class."""

from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from lifts.classes import limit_copied, limit_said
from lifts.speed import BOUNDARY, CANT_TELL, OVER, UNDER, TimedSpeed
from lifts.speed_classes import KMH_PER_MPH
from shared.models import Site
from shared.units import shown

VERDICTS = {
    UNDER: gettext_lazy("under"),
    CANT_TELL: gettext_lazy("can’t tell"),
    BOUNDARY: gettext_lazy("boundary"),
    OVER: gettext_lazy("over"),
}
VERDICT_STYLES = {UNDER: "inside", CANT_TELL: "unsure", BOUNDARY: "unsure", OVER: "outside"}
REMARKS = {
    UNDER: "",
    OVER: "",
    CANT_TELL: gettext_lazy(
        "closes as measured; two more runs, over a longer marked length, may tell"
    ),
    BOUNDARY: gettext_lazy(
        "over by the metric figure of the limit and under by the inch one, or the other way "
        "round: a person decides"
    ),
}
NO_CLASS = gettext_lazy("no class claimed")


def mean(speed: TimedSpeed) -> str:
    return mean_of(speed.kmh)


def mean_of(kmh: Decimal) -> str:
    """Return a speed in both units: "33.4 km/h = 20.8 mph"."""
    return f"{kmh:.1f} km/h = {shown(kmh, 'speed', Site.Units.INCH)}"


def measured(speed: TimedSpeed) -> str:
    """Return a speed with its uncertainty in both units: "20.27 ± 0.39 mph = …"."""
    mph = [kmh / KMH_PER_MPH for kmh in (speed.kmh, speed.uncertainty_kmh)]
    return f"{mph[0]:.2f} ± {mph[1]:.2f} mph = {speed.kmh:.2f} ± {speed.uncertainty_kmh:.2f} km/h"


def held_to(run) -> str:
    """Return the class that a run carries, with its limit: "Golf car: below 15 mph (24 km/h)"."""
    limit = limit_copied(run)
    if limit is None:
        return str(NO_CLASS)
    return f"{run.class_name}: {limit_said(limit)}"


def over(run, speed: TimedSpeed) -> str:
    said = {"speed": measured(speed), "class": held_to(run)}
    return _("Over its speed class: %(speed)s; %(class)s") % said


def judged(run, said: str) -> tuple[str, str]:
    """Return (what a run proves of its class, by which class and limit, and what to do)."""
    if not said:
        return str(_("measured, no class claimed")), ""
    detail = f"{held_to(run)} ({run.class_source})"
    return str(VERDICTS[said]), "; ".join(filter(None, (detail, str(REMARKS[said]))))
