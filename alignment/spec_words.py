"""How figures of camber and toe read on a page, in the units of a site."""

from decimal import Decimal

from django.utils.translation import gettext

from alignment.advice import Steering, camber_deg_a_flat, toe_mm_a_flat, toe_moved_mm
from alignment.geometry import toe_total_deg
from alignment.models import AlignmentSpec, CamberAdjusts
from alignment.readings import Limits
from alignment.signs import signed_deg
from shared.units import UNITS_OF, printed, shown

LENGTH_PLACES = {"inch": 3, "metric": 1}
FLAT_PLACES = {"inch": 3, "metric": 2}
ONE_DEG = 1.0


def length(mm: float, units: str, *, places=LENGTH_PLACES) -> str:
    return shown(Decimal(str(round(mm, 6))), "length", units, places=places[units])


def signed_length(mm: float, units: str) -> str:
    sign = "−" if mm < 0 else "+"
    return sign + length(abs(mm), units, places=FLAT_PLACES)


def camber_band(limits: Limits) -> str:
    ends = (signed_deg(limits.camber_low_deg), signed_deg(limits.camber_high_deg))
    return gettext("%s to %s") % ends


def toe_band(limits: Limits, units: str) -> str:
    """Return "toe-in 0.125 to 0.250 in"."""
    unit = printed(UNITS_OF[units]["length"])
    low = length(limits.toe_low_mm, units).removesuffix(f" {unit}")
    said = gettext("toe-in %(low)s to %(high)s")
    return said % {"low": low, "high": length(limits.toe_high_mm, units)}


def toe_angles(limits: Limits, diameter_mm: float) -> str:
    """Return the same toe as the angle between both wheels, on tyres of a diameter."""
    ends = (toe_total_deg(mm, diameter_mm) for mm in (limits.toe_low_mm, limits.toe_high_mm))
    return gettext("%.2f° to %.2f°") % tuple(ends)


def rods(spec: AlignmentSpec) -> str:
    thread = _thread(
        spec.rod_pitch_typed, spec.get_rod_ends_display(), spec.get_rod_right_hand_display()
    )
    said = [spec.get_rods_display(), thread]
    arm = {"length": spec.arm_typed, "where": spec.get_arm_display()}
    said.append(gettext("steering arm %(length)s, %(where)s") % arm)
    if spec.rod_height_typed:
        height = {"length": spec.rod_height_typed}
        said.append(gettext("rod’s end %(length)s above the lower joint") % height)
    return "; ".join(map(str, said))


def adjusts(spec: AlignmentSpec) -> str:
    said = [spec.get_camber_adjusts_display()]
    if spec.camber_adjusts == CamberAdjusts.NOT:
        said.append(gettext("camber outside means a bent or worn part: look for it"))
    elif spec.sleeve_pitch_typed:
        right_hand = spec.get_sleeve_right_hand_display()
        said.append(_thread(spec.sleeve_pitch_typed, spec.get_sleeve_ends_display(), right_hand))
        said.append(gettext("knuckle %(length)s") % {"length": spec.knuckle_typed})
    return "; ".join(map(str, said))


def _thread(pitch, ends, right_hand):
    right = [gettext("right-hand thread %(where)s") % {"where": right_hand}] if right_hand else []
    return ", ".join(map(str, [pitch, ends, *right]))


def flats(steering: Steering, diameter_mm: float, units: str) -> list[str]:
    """Return in words what one flat does with these figures on tyres of a diameter."""
    lines = []
    if steering.rod is not None:
        lines.append(_rod_flat(steering.rod, diameter_mm, units))
    if steering.sleeve is not None:
        lines.append(_sleeve_flat(steering.sleeve))
    moved_mm = toe_moved_mm(ONE_DEG, steering, diameter_mm)
    if moved_mm is not None:
        said = gettext("One wheel’s top 1° farther out moves toe by %(toe)s: camber comes first.")
        lines.append(said % {"toe": signed_length(moved_mm, units)})
    return lines


def _rod_flat(rod, diameter_mm, units):
    change_mm = toe_mm_a_flat(rod, diameter_mm)
    said = (
        gettext("The one tie rod a flat longer: toe %(toe)s (%(angle)s), %(more)s.")
        if rod.is_across
        else gettext("Both tie rods a flat longer: toe %(toe)s (%(angle)s), %(more)s.")
    )
    return said % {
        "toe": signed_length(change_mm, units),
        "angle": signed_deg(toe_total_deg(change_mm, diameter_mm)),
        "more": gettext("more toe-in") if change_mm > 0 else gettext("less toe-in"),
    }


def _sleeve_flat(sleeve):
    said = gettext("A camber sleeve a flat longer: camber %(camber)s, top farther out.")
    return said % {"camber": signed_deg(camber_deg_a_flat(sleeve))}
