"""What a torque wrench is set to: adapter, range, order of wheel nuts, stages, band. Pure."""

import math
import re
from decimal import Decimal

from shared.units import Unreadable, gettext_noop

Number = float | Decimal

# NASA-STD-5020B 4.8.4: use a torque tool between these shares of its full scale
WORKING_RANGE = (0.20, 0.90)

# ISO 6789 type II class A, as a torque wrench's manual quotes it
ISO_6789_SMALL_NM = 10.0
ISO_6789_TOLERANCE = 0.04
ISO_6789_SMALL_TOLERANCE = 0.06

TOLERANCE = 0.10  # either side of a target whose sheet gives no band; judgement

# Nuts are numbered clockwise: opposite pairs first, MIL-HDBK-60 5.7 fig. 4;
# the orders themselves are common practice, no source
WHEEL_NUT_ORDERS = {
    4: (1, 3, 2, 4),
    5: (1, 3, 5, 2, 4),
    6: (1, 4, 2, 5, 3, 6),
    8: (1, 5, 3, 7, 2, 6, 4, 8),
}

_STEPS = re.compile(r"(?:in )?([1-9]) (?:steps?|stages?)", re.I)
_SHARE = re.compile(r"([0-9]{1,3}(?:\.[0-9]{1,2})?) ?%?")
_BETWEEN_SHARES = re.compile(r" ?(?:->|→|[,;/]) ?")


def above_zero(**values: Number) -> list[float]:
    """Return the values as floats. Raises ValueError naming one that is not above zero."""
    for name, value in values.items():
        if not 0 < value < math.inf:
            raise ValueError(f"{name} must be above zero, not {value}")
    return [float(value) for value in values.values()]


def set_for_adapter_nm(
    target_nm: Number, *, wrench_mm: Number, adapter_mm: Number, angle_deg: Number = 0.0
) -> float:
    """Return what to set, in N.m, so that the nut gets ``target_nm`` through an adapter.

    set = T L / (L + E cos a): ``wrench_mm`` (L) from the middle of the grip to the drive,
    ``adapter_mm`` (E) from the drive to the nut. ``angle_deg`` (a) is 0 with the adapter
    straight ahead, 90 across, 180 back along the wrench. TM 9-254 fig. 46.

    Raises ValueError for a torque or length not above zero, or an adapter whose nut is at
    or behind the grip.
    """
    (target,) = above_zero(target_nm=target_nm)
    return target / _gain(wrench_mm, adapter_mm, angle_deg)


def reached_through_adapter_nm(
    set_nm: Number, *, wrench_mm: Number, adapter_mm: Number, angle_deg: Number = 0.0
) -> float:
    """Return what the nut gets, in N.m, at a setting; the inverse of set_for_adapter_nm."""
    (setting,) = above_zero(set_nm=set_nm)
    return setting * _gain(wrench_mm, adapter_mm, angle_deg)


def _gain(wrench_mm: Number, adapter_mm: Number, angle_deg: Number) -> float:
    """Return the torque at the nut over the torque at the drive."""
    wrench, adapter = above_zero(wrench_mm=wrench_mm, adapter_mm=adapter_mm)
    effective = wrench + adapter * math.cos(math.radians(angle_deg))
    above_zero(effective_mm=effective)
    return effective / wrench


def is_in_working_range(target_nm: Number, full_scale_nm: Number) -> bool:
    """Say whether a torque lies between 20 and 90 % of a wrench's full scale, both included."""
    target, full_scale = above_zero(target_nm=target_nm, full_scale_nm=full_scale_nm)
    lowest, highest = WORKING_RANGE
    return lowest <= target / full_scale <= highest


def iso6789_tolerance(full_scale_nm: Number) -> float:
    """Return how far a wrench may be off, as a share of the torque read: 0.04 or 0.06.

    It goes by the wrench's greatest torque, not by the torque read: 6 % up to 10 N.m.
    """
    (full_scale,) = above_zero(full_scale_nm=full_scale_nm)
    return ISO_6789_TOLERANCE if full_scale > ISO_6789_SMALL_NM else ISO_6789_SMALL_TOLERANCE


def wheel_nut_order(count: int) -> tuple[int, ...]:
    """Return in which order to tighten a wheel's nuts, numbered clockwise from 1.

    Raises ValueError for a count that is not 4, 5, 6 or 8.
    """
    if count not in WHEEL_NUT_ORDERS:
        raise ValueError(f"the order is known for 4, 5, 6 and 8 wheel nuts, not {count}")
    return WHEEL_NUT_ORDERS[count]


def read_stages(text: str) -> tuple[float, ...]:
    """Return the stages as shares of the target: (0.5, 0.8, 1.0) for "50, 80, 100 %".

    Also "50 -> 80 -> 100 %"; "3 steps" are equal ones; no text is one stage.

    Raises ValueError naming the text, unless the stages rise from above zero to 100 %.
    """
    plain = " ".join(text.split())
    if not plain:
        return (1.0,)
    if steps := _STEPS.fullmatch(plain):
        count = int(steps[1])
        return tuple((done + 1) / count for done in range(count))
    found = [_SHARE.fullmatch(part) for part in _BETWEEN_SHARES.split(plain)]
    shares = tuple(float(share[1]) / 100 for share in found if share)
    rising = list(shares) == sorted({0.0, *shares} - {0.0})
    if not all(found) or not rising or shares[-1] != 1.0:
        raise Unreadable(
            gettext_noop("“%(text)s” are no stages; write them like 50, 80, 100 %% or 3 steps"),
            text=text[:40],
        )
    return shares


def stage_torques_nm(target_nm: Number, text: str) -> tuple[float, ...]:
    """Return the torque of each stage in N.m, the last one the target; see read_stages."""
    (target,) = above_zero(target_nm=target_nm)
    return tuple(target * share for share in read_stages(text))


def tolerance_band_nm(
    target_nm: Number, low_nm: Number | None = None, high_nm: Number | None = None
) -> tuple[float, float]:
    """Return the least and the most torque in N.m that will do; 10 % off where not given.

    Raises ValueError for a target outside its own band.
    """
    (target,) = above_zero(target_nm=target_nm)
    low = target * (1 - TOLERANCE) if low_nm is None else float(low_nm)
    high = target * (1 + TOLERANCE) if high_nm is None else float(high_nm)
    if not low <= target <= high:
        raise ValueError(f"target_nm {target_nm} is not between {low} and {high}")
    return low, high
