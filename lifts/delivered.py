"""What a nut got from a wrench that was off, against what its joint allows. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from lifts.torque import Number, set_for_adapter_nm, tolerance_band_nm
from lifts.wrench_error import ROUNDING, ErrorPoint, error_at


@dataclass(frozen=True)
class Delivered:
    """A torque that was meant, and the one that the nut got, in N.m.

    ``error`` is the wrench's, as a share of what was set; ``low_nm`` and ``high_nm`` are what
    the joint allows, themselves inside. ``is_band_own`` says that its sheet gave them.
    """

    target_nm: float
    error: float
    low_nm: float
    high_nm: float
    is_band_own: bool

    @property
    def nm(self) -> float:
        return self.target_nm * (1 + self.error)

    @property
    def is_under(self) -> bool:
        return self.nm < self.low_nm * (1 - ROUNDING)

    @property
    def is_over(self) -> bool:
        return self.nm > self.high_nm * (1 + ROUNDING)

    @property
    def breaks(self) -> bool:
        """Whether it lies outside what the joint allows."""
        return self.is_under or self.is_over


@dataclass(frozen=True)
class Arm:
    """A wrench's own length and that of its adapter, in mm; angle in degrees, 0 straight on."""

    wrench_mm: Number | None = None
    adapter_mm: Number | None = None
    adapter_deg: Number | None = None

    def set_for(self, target_nm: Number) -> float:
        """Return what was set, in N.m; the target itself where a length is not known."""
        if None in (self.wrench_mm, self.adapter_mm, self.adapter_deg):
            return float(target_nm)
        lengths = {"wrench_mm": self.wrench_mm, "adapter_mm": self.adapter_mm}
        try:
            return set_for_adapter_nm(target_nm, angle_deg=self.adapter_deg, **lengths)
        except ValueError:
            return float(target_nm)  # its nut would lie at or behind the grip


BARE = Arm()


def delivered(
    points: Sequence[ErrorPoint],
    target_nm: Number,
    low_nm: Number | None = None,
    high_nm: Number | None = None,
    arm: Arm = BARE,
) -> Delivered:
    """Return what the nut got of ``target_nm`` from a wrench of these errors.

    The error is the one at what was set: through an adapter that is T L / (L + E cos a), and
    the nut gets the target times one plus that error, since the adapter scales both alike.
    Linear between the points. Bounds that leave the target outside count as not given: then,
    as where there are none, 10 % either side.

    Raises ValueError as error_at does, and for a target not above zero.
    """
    try:
        low, high = tolerance_band_nm(target_nm, low_nm, high_nm)
        is_own = low_nm is not None or high_nm is not None
    except ValueError:
        (low, high), is_own = tolerance_band_nm(target_nm), False
    return Delivered(float(target_nm), error_at(points, arm.set_for(target_nm)), low, high, is_own)
