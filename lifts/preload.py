"""How hard a torque pulls a bolt, its share of proof, and what a nut's movement means. Pure."""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from statistics import fmean

from lifts.threads import Thread, proof_load_n, read_grade, weakest_grade
from lifts.torque import above_zero

Number = float | Decimal

# K in T = K d F: Shigley and Mischke, Mechanical Engineering Design, table of torque factors
NUT_FACTORS = {
    "dry, not plated": 0.30,
    "zinc plated, dry": 0.20,
    "oiled": 0.18,
    "cadmium plated": 0.16,
    "anti-seize": 0.12,
}
NUT_FACTOR_UNKNOWN = 0.20  # the same table; NASA TM-106943: unlubricated about 0.2

# NSTS 08307 Rev A 3.4, NASA-STD-5020B 4.3.3: spread of preload by torque wrench
SCATTER_DRY = 0.35
SCATTER_LUBRICATED = 0.25
LUBRICATED_NUT_FACTOR = 0.15  # NASA TM-106943: 0.11 to 0.15 lubricated

STEEL_GPA = 205.0  # Young's modulus; from memory

# MIL-HDBK-60 App. B 100.5: pitch diameter and mean nut face in diameters, half angle
PITCH_DIAMETERS = 0.92
FACE_DIAMETERS = 1.5
FLANK_DEG = 30.0

GALVANISED = re.compile(r"galv|hot[ -]?dip|\bhdg\b", re.I)
# ISO 10684: hot-dip-galvanised M8 and M10 carry less than ISO 898-1 says
WEAKER_GALVANISED_MM = (8, 10)


@dataclass(frozen=True)
class Share:
    """The preload of a bolt as a share of its proof load, with the scatter of a torque wrench.

    ``low`` and ``high`` bound the share; ``grade`` and ``nut_factor`` are those counted with.
    """

    share: float
    low: float
    high: float
    grade: str
    is_grade_assumed: bool
    nut_factor: float
    is_nut_factor_assumed: bool

    def is_above_proof(self) -> bool:
        """Say whether the share, without its scatter, is more than the proof load."""
        return round(self.share, 9) > 1  # a torque worked back from proof is not above it


def preload_n(torque_nm: Number, nut_factor: Number, diameter_mm: Number) -> float:
    """Return the preload in N of a bolt tightened to ``torque_nm``: F = T / (K d).

    NASA-STD-5020B Eq. 24. ``nut_factor`` (K) has no unit.

    Raises ValueError naming a value that is not above zero.
    """
    torque, factor, diameter = above_zero(
        torque_nm=torque_nm, nut_factor=nut_factor, diameter_mm=diameter_mm
    )
    return torque * 1000 / (factor * diameter)


def torque_nm_for(preload_n: Number, nut_factor: Number, diameter_mm: Number) -> float:
    """Return the torque in N.m that pulls a bolt to ``preload_n``; the inverse of preload_n."""
    preload, factor, diameter = above_zero(
        preload_n=preload_n, nut_factor=nut_factor, diameter_mm=diameter_mm
    )
    return factor * diameter * preload / 1000


def share_of_proof(
    torque_nm: Number,
    thread: Thread,
    grade_text: str = "",
    nut_factor: Number | None = None,
) -> Share:
    """Return how much of its proof load a bolt is pulled to by ``torque_nm``.

    A grade that read_grade does not know counts as the weakest, a nut factor that is not
    given as 0.20, and the answer says so. The scatter is 35 % either way, or 25 % for a
    nut factor up to 0.15, as of lubricated threads.

    Raises ValueError for a torque or nut factor not above zero.
    """
    known = read_grade(grade_text, is_inch=thread.is_inch)
    grade = known or weakest_grade(thread.is_inch)
    factor = NUT_FACTOR_UNKNOWN if nut_factor is None else float(nut_factor)
    share = preload_n(torque_nm, factor, thread.diameter_mm) / proof_load_n(grade, thread)
    scatter = SCATTER_LUBRICATED if factor <= LUBRICATED_NUT_FACTOR else SCATTER_DRY
    return Share(
        share=share,
        low=share * (1 - scatter),
        high=share * (1 + scatter),
        grade=grade,
        is_grade_assumed=known is None,
        nut_factor=factor,
        is_nut_factor_assumed=nut_factor is None,
    )


def galvanised_warning(thread: Thread, text: str) -> bool:
    """Say whether ``text`` names a hot-dip-galvanised M8 or M10, weaker than its class."""
    return thread.diameter_mm in WEAKER_GALVANISED_MM and GALVANISED.search(text) is not None


def full_loss_angle_deg(
    preload_n: Number, thread: Thread, grip_mm: Number, e_gpa: Number = STEEL_GPA
) -> float:
    """Return how far in degrees a nut turns from bare contact to ``preload_n``.

    Stretch of the bolt alone over its stress area, s = F L / (E A), as turns of the pitch:
    360 s / p (MIL-HDBK-60 6.2.4). The clamped parts give too, so the true angle is larger.
    ``grip_mm`` is the length that stretches: for a U-bolt its leg.

    Raises ValueError naming a value that is not above zero.
    """
    preload, grip, e = above_zero(preload_n=preload_n, grip_mm=grip_mm, e_gpa=e_gpa)
    stretch_mm = preload * grip / (e * 1000 * thread.stress_area_mm2)
    return 360 * stretch_mm / thread.pitch_mm


def most_clamp_lost(moved_deg: Number, full_loss_deg: Number) -> float:
    """Return the most clamp that was lost, 0 to 1, where a nut moved to reach its target.

    An upper bound, since full_loss_angle_deg counts the bolt's stretch alone: it informs, and
    decides no outcome and no tag.

    Raises ValueError for a movement below zero, or an angle not above it.
    """
    (full_loss,) = above_zero(full_loss_deg=full_loss_deg)
    if not moved_deg >= 0:
        raise ValueError(f"moved_deg must not be below zero, not {moved_deg}")
    return min(1.0, float(moved_deg) / full_loss)


def nut_factor_from_friction(thread: Thread, mu_thread: Number, mu_bearing: Number) -> float:
    """Return the nut factor from the friction of the thread and of the nut's face.

    K d = p / 2 pi + d2 mu_thread / (2 cos 30 deg) + (d + b) mu_bearing / 4, with d2 = 0.92 d
    and b = 1.5 d: MIL-HDBK-60 App. B 100.5.

    Raises ValueError naming a friction that is not above zero.
    """
    in_thread, at_face = above_zero(mu_thread=mu_thread, mu_bearing=mu_bearing)
    slope = thread.pitch_mm / (2 * math.pi * thread.diameter_mm)
    flank = PITCH_DIAMETERS * in_thread / (2 * math.cos(math.radians(FLANK_DEG)))
    return slope + flank + (1 + FACE_DIAMETERS) * at_face / 4


def preload_scatter(
    torque_nm: Number, diameter_mm: Number, preloads_n: Sequence[Number]
) -> tuple[float, float, float]:
    """Return the nut factor of bolts all tightened to one torque, and their scatter up and down.

    The nut factor is that of the mean preload, not the mean of theirs; the scatters are how
    far the highest and the lowest preload lie from the mean, as shares of it, both positive.
    NASA-STD-5020B tables 5 and 6.

    Raises ValueError for no preload, or a value that is not above zero.
    """
    if not preloads_n:
        raise ValueError(f"at least one preload is needed, not {preloads_n}")
    torque, diameter, *preloads = above_zero(
        torque_nm=torque_nm,
        diameter_mm=diameter_mm,
        **{f"preload {place}": preload for place, preload in enumerate(preloads_n, 1)},
    )
    mean = fmean(preloads)
    nut_factor = torque * 1000 / (diameter * mean)
    return nut_factor, max(preloads) / mean - 1, 1 - min(preloads) / mean
