"""How a cart's track and centre of gravity compare before and after a lift. Pure.

First order, for comparison only and never a limit: a rigid cart on a level road, with no
give of tyres and springs, and nobody leaning out. Numbers are floats; heights are above the road.
"""

from collections.abc import Sequence
from math import asin, atan, degrees, isfinite, radians, sqrt, tan
from statistics import linear_regression

# Share of a cart's own mass that stands on its springs; judgement, no source.
SPRUNG_SHARE = 0.85
GRAVITY_M_PER_S2 = 9.80665  # exact: NIST SP 811 (2008) App. B.8
KMH_PER_MS = 3.6


def ssf(track_mm: float, cg_mm: float) -> float:
    """Return the static stability factor T / 2h, without unit (NHTSA).

    Raises ValueError for a track or a height that is not above zero.
    """
    _refuse_not_above_zero(track_mm=track_mm, cg_mm=cg_mm)
    return track_mm / (2 * cg_mm)


def tip_angle_deg(track_mm: float, cg_mm: float) -> float:
    """Return the side slope at which a rigid cart is about to tip: atan(T / 2h).

    Raises ValueError for a track or a height that is not above zero.
    """
    return degrees(atan(ssf(track_mm, cg_mm)))


def combined_cg_mm(loads: Sequence[tuple[float, float]]) -> float:
    """Return the height in mm of the common centre of gravity of ``(mass_kg, height_mm)``.

    The mean of the heights, weighted by mass. A mass taken off is below zero.

    Raises ValueError when the masses do not come to more than zero.
    """
    total_kg = sum(mass_kg for mass_kg, _ in loads)
    _refuse_not_above_zero(total_kg=total_kg)
    return sum(mass_kg * height_mm for mass_kg, height_mm in loads) / total_kg


def angle_of_lift_deg(raised_mm: float, wheelbase_mm: float) -> float:
    """Return by how much a cart is tilted with one axle raised: asin(H / L).

    Raises ValueError unless the axle is raised, by less than the wheelbase.
    """
    _refuse_not_above_zero(raised_mm=raised_mm, wheelbase_mm=wheelbase_mm)
    if raised_mm >= wheelbase_mm:
        raise ValueError(f"raised_mm must be below wheelbase_mm {wheelbase_mm}, not {raised_mm}")
    return degrees(asin(raised_mm / wheelbase_mm))


def cg_from_axle_lift_mm(
    *,
    hub_height_mm: float,
    wheelbase_mm: float,
    mass_kg: float,
    lift_angle_deg: float,
    gained_kg: float,
) -> float:
    """Return the height of the centre of gravity in mm, weighed with one axle raised.

    ``hub_height_mm`` is the height of the hubs above the road with the cart level,
    ``gained_kg`` how much more the axle left on the scales weighs at ``lift_angle_deg`` than
    level: h = r + L dW / (W tan a) (as in ISO 10392 and SAE J874). Springs are blocked.

    Raises ValueError for a length, mass or angle that is not above zero, an angle from 90
    degrees on, or a height that would not be above the road.
    """
    _refuse_not_above_zero(hub_height_mm=hub_height_mm, wheelbase_mm=wheelbase_mm, mass_kg=mass_kg)
    if not 0 < lift_angle_deg < 90:
        raise ValueError(f"lift_angle_deg must be between 0 and 90, not {lift_angle_deg}")
    above_hub_mm = wheelbase_mm * gained_kg / (mass_kg * tan(radians(lift_angle_deg)))
    return _above_road_mm(hub_height_mm + above_hub_mm)


def cg_from_lifts(
    steps: Sequence[tuple[float, float]],
    *,
    hub_height_mm: float,
    wheelbase_mm: float,
    mass_kg: float,
) -> float:
    """Return the height of the centre of gravity in mm from several ``(raised_mm, gained_kg)``.

    h = r + L / W times the slope of the weight gained against tan a, by least squares over
    the steps and the level cart, where nothing is gained. ISO 10392 asks for three steps or
    more, up and down; one gives the same as ``cg_from_axle_lift_mm``.

    Raises ValueError without a step, and as ``angle_of_lift_deg`` and ``cg_from_axle_lift_mm``.
    """
    _refuse_not_above_zero(hub_height_mm=hub_height_mm, wheelbase_mm=wheelbase_mm, mass_kg=mass_kg)
    if not steps:
        raise ValueError("steps must hold one at least, not none")
    angles_deg = [angle_of_lift_deg(raised_mm, wheelbase_mm) for raised_mm, _ in steps]
    tangents = [0.0, *(tan(radians(angle_deg)) for angle_deg in angles_deg)]
    gained_kg = [0.0, *(gained_kg for _, gained_kg in steps)]
    slope_kg = linear_regression(tangents, gained_kg).slope
    return _above_road_mm(hub_height_mm + wheelbase_mm * slope_kg / mass_kg)


def tyre_rise_mm(from_mm: float, to_mm: float) -> float:
    """Return by how much tyres of another diameter raise all of a cart: half the difference.

    Raises ValueError for a diameter that is not above zero.
    """
    _refuse_not_above_zero(from_mm=from_mm, to_mm=to_mm)
    return (to_mm - from_mm) / 2


def lifted_cg_mm(
    cg_mm: float,
    *,
    rise_mm: float,
    sprung_share: float = SPRUNG_SHARE,
    tyre_growth_mm: float = 0.0,
) -> float:
    """Return the height in mm of a centre of gravity after a lift.

    A suspension lift of ``rise_mm`` raises what stands on the springs, a tyre
    ``tyre_growth_mm`` larger in diameter raises all by half of that. The default share is an
    empty cart's; people and load stand on the springs wholly (``sprung_share=1``), so lift
    them apart and then combine.

    Raises ValueError for a height that is not above zero, or a share outside 0 to 1.
    """
    _refuse_not_above_zero(cg_mm=cg_mm)
    if not 0 <= sprung_share <= 1:
        raise ValueError(f"sprung_share must be from 0 to 1, not {sprung_share}")
    return _above_road_mm(cg_mm + sprung_share * rise_mm + tyre_growth_mm / 2)


def lateral_g(speed_kmh: float, radius_m: float) -> float:
    """Return the sideways acceleration in a bend, in g: v**2 / (R g).

    Raises ValueError for a speed or a radius that is not above zero.
    """
    _refuse_not_above_zero(speed_kmh=speed_kmh, radius_m=radius_m)
    return (speed_kmh / KMH_PER_MS) ** 2 / (radius_m * GRAVITY_M_PER_S2)


def tip_speed_kmh(factor: float, radius_m: float) -> float:
    """Return the speed in a bend at which the sideways g equals a stability ``factor`` (ssf).

    For comparison only: a real cart slides or tips sooner.

    Raises ValueError for a factor or a radius that is not above zero.
    """
    _refuse_not_above_zero(factor=factor, radius_m=radius_m)
    return sqrt(factor * GRAVITY_M_PER_S2 * radius_m) * KMH_PER_MS


def _above_road_mm(height_mm: float) -> float:
    if not height_mm > 0:
        raise ValueError(f"a centre of gravity must be above the road, not at {height_mm:.0f} mm")
    return height_mm


def _refuse_not_above_zero(**values: float) -> None:
    for name, value in values.items():
        if not (isfinite(value) and value > 0):
            raise ValueError(f"{name} must be above zero, not {value}")
