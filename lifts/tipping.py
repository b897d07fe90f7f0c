"""A cart's stability as it was weighed, and as other tyres, a lift and people change it. Pure.

First order, for comparison only and never a limit: see ``lifts/stability.py``.
"""

from dataclasses import dataclass

from lifts.stability import combined_cg_mm, lifted_cg_mm, ssf, tip_angle_deg


@dataclass(frozen=True)
class Weighed:
    """A cart as it was weighed: masses in kg, lengths and heights above the road in mm.

    ``cg_mm`` is of the empty cart; people, if any, have a mass and a height of their own.
    """

    mass_kg: float
    track_mm: float
    cg_mm: float
    people_kg: float | None = None
    seated_mm: float | None = None


@dataclass(frozen=True)
class Shift:
    """What is otherwise than when it was weighed: lengths in mm, below zero for lower or smaller.

    ``rise_mm`` is of the suspension, ``growth_mm`` of the tyres' diameter; ``track_mm`` is
    the other track, None for the same.
    """

    rise_mm: float = 0.0
    growth_mm: float = 0.0
    track_mm: float | None = None


@dataclass(frozen=True)
class Steadiness:
    """How steady a cart stands with one load: height of its centre of gravity, SSF, tip angle."""

    cg_mm: float
    ssf: float
    tip_deg: float


@dataclass(frozen=True)
class Stance:
    """A cart in one state, empty and, where their mass is known, with people seated."""

    track_mm: float
    empty: Steadiness
    seated: Steadiness | None = None


def stance_of(weighed: Weighed, shift: Shift = Shift()) -> Stance:
    """Return a cart's stance with what is otherwise than when it was weighed.

    A lift raises the springs' share of the cart and people wholly; larger tyres raise both
    by half of what their diameter grew. Raises ValueError as ``lifts.stability`` does.
    """
    track_mm = weighed.track_mm if shift.track_mm is None else shift.track_mm
    moved = {"rise_mm": shift.rise_mm, "tyre_growth_mm": shift.growth_mm}
    cart_mm = lifted_cg_mm(weighed.cg_mm, **moved)
    empty = _steadiness(track_mm, cart_mm)
    if weighed.people_kg is None or weighed.seated_mm is None:
        return Stance(track_mm, empty)
    people_mm = lifted_cg_mm(weighed.seated_mm, sprung_share=1, **moved)
    both = [(weighed.mass_kg, cart_mm), (weighed.people_kg, people_mm)]
    return Stance(track_mm, empty, _steadiness(track_mm, combined_cg_mm(both)))


def _steadiness(track_mm, cg_mm):
    return Steadiness(cg_mm, ssf(track_mm, cg_mm), tip_angle_deg(track_mm, cg_mm))
