"""Threads and grades as people write them, and the load a bolt is proved to. Pure."""

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from shared.units import Unreadable, gettext_noop

MM_PER_INCH = Fraction("25.4")  # exact: NIST SP 811 (2008) App. B
MPA_PER_KSI = 6.894757293168362  # exact to a double: NIST SP 811 (2008) App. B

# diameter under the stress area, in pitches: ISO 898-1 (2013) 9.1.6.1; ASME B1.1
ISO_AREA_PITCHES = 0.9382
INCH_AREA_PITCHES = 0.9743

# ISO 261 coarse threads, mm
COARSE_PITCH_MM = {
    5: 0.8,
    6: 1.0,
    7: 1.0,
    8: 1.25,
    10: 1.5,
    12: 1.75,
    14: 2.0,
    16: 2.0,
    18: 2.5,
    20: 2.5,
    22: 2.5,
    24: 3.0,
}
# ASME B1.1 threads an inch
COARSE_PER_INCH = {
    "1/4": 20,
    "5/16": 18,
    "3/8": 16,
    "7/16": 14,
    "1/2": 13,
    "9/16": 12,
    "5/8": 11,
    "3/4": 10,
    "7/8": 9,
    "1": 8,
}
FINE_PER_INCH = {
    "1/4": 28,
    "5/16": 24,
    "3/8": 24,
    "7/16": 20,
    "1/2": 20,
    "9/16": 18,
    "5/8": 18,
    "3/4": 16,
    "7/8": 14,
    "1": 12,
}
SERIES = {"UNC": COARSE_PER_INCH, "UNF": FINE_PER_INCH, "": {}}
# finer or coarser than any screw thread of its size; judgement
FINEST_PITCHES, COARSEST_PITCHES = 32, 4
SMALLEST_MM, LARGEST_MM = 5, 39  # as far as ISO 898-1 goes
SMALLEST_IN, LARGEST_IN = Fraction(1, 4), Fraction(3, 2)  # as far as SAE J429 goes

# proof stress, ISO 898-1 tables; 9.8 from memory
ISO_PROOF_MPA = {
    "4.6": 225,
    "4.8": 310,
    "5.8": 380,
    "8.8": 580,
    "9.8": 650,
    "10.9": 830,
    "12.9": 970,
}
ISO_88_ABOVE_M16_MPA = 600
# proof stress up to a diameter in inches, SAE J429; grade 2 above 3/4 from memory
SAE_PROOF_KSI = {
    "2": ((Fraction(3, 4), 55), (LARGEST_IN, 33)),
    "5": ((Fraction(1), 85), (LARGEST_IN, 74)),
    "8": ((LARGEST_IN, 120),),
}
GRADES = (*ISO_PROOF_MPA, *SAE_PROOF_KSI)

_METRIC = re.compile(r"m ?([0-9]{1,2})(?: ?[x×*-] ?([0-9]{1,2}(?:[.,][0-9]{1,4})?))?", re.I)
_INCH = re.compile(
    r"(?:(1)[ -])?(1|[0-9]{1,2}/(?:2|4|8|16)) ?(?:\"|″|in)? ?(?:[-x×] ?([0-9]{1,2}))? ?(UNC|UNF|)",
    re.I,
)
_ISO_CLASS = re.compile(r"(?:iso )?(?:property )?(?:class |cl\.? ?)?([0-9]{1,2}[.,][0-9])", re.I)
_SAE_GRADE = re.compile(r"(?:sae )?(?:j429 )?(?:grade ?|gr\.? ?|g ?)?([0-9])", re.I)


@dataclass(frozen=True)
class Thread:
    """A straight screw thread; ``text`` is how it is written: "M10", "M10x1.25", "1/2-20"."""

    text: str
    diameter_mm: float
    pitch_mm: float
    is_inch: bool

    @property
    def stress_area_mm2(self) -> float:
        """Return the area that carries the load in mm2: pi/4 (d - c P)**2.

        ``c`` is 0.9382 for a metric thread (ISO 898-1) and 0.9743 for an inch one (ASME B1.1).
        """
        pitches = INCH_AREA_PITCHES if self.is_inch else ISO_AREA_PITCHES
        return math.pi / 4 * (self.diameter_mm - pitches * self.pitch_mm) ** 2


def read_thread(text: str) -> Thread:
    """Return the thread a person wrote: "M10", "M 10 × 1.25", "1/2-20", "3/8-16 UNC", "1/2 UNF".

    A metric thread without a pitch is the coarse one. An inch thread needs its threads an
    inch, or UNC or UNF. However it was written, one thread comes out the same.

    Raises ValueError naming the text and how to write it: no thread ("taper", "rod",
    "spindle"), no pitch that is known, or a pitch that no thread of that size has.
    """
    plain = " ".join(text.split())
    if metric := _METRIC.fullmatch(plain):
        thread = _metric(text, int(metric[1]), metric[2])
    elif inch := _INCH.fullmatch(plain):
        thread = _inch(text, *inch.groups())
    else:
        raise _unreadable(text)
    pitches = thread.diameter_mm / thread.pitch_mm
    if not COARSEST_PITCHES <= pitches <= FINEST_PITCHES:
        raise _unreadable(text)
    return thread


def _metric(text: str, diameter_mm: int, typed_pitch: str | None) -> Thread:
    if not SMALLEST_MM <= diameter_mm <= LARGEST_MM:
        raise _unreadable(text)
    coarse = COARSE_PITCH_MM.get(diameter_mm)
    pitch_mm = float(typed_pitch.replace(",", ".")) if typed_pitch else coarse
    if not pitch_mm:
        raise Unreadable(
            gettext_noop("“%(text)s” needs its pitch; write it like M10x1.25"), text=text[:40]
        )
    written = f"M{diameter_mm}" if pitch_mm == coarse else f"M{diameter_mm}x{pitch_mm:g}"
    return Thread(written, float(diameter_mm), pitch_mm, is_inch=False)


def _inch(text: str, whole: str | None, size: str, typed: str | None, series: str) -> Thread:
    inches = Fraction(size) + int(whole or 0)
    named = SERIES[series.upper()].get(str(inches))
    if (whole and inches >= 2) or (typed and named and int(typed) != named):
        raise _unreadable(text)
    per_inch = int(typed or named or 0)
    if not per_inch:
        raise _without_pitch(text, str(inches))
    if not SMALLEST_IN <= inches <= LARGEST_IN:
        raise _unreadable(text)
    written = f"1 {inches - 1}" if inches > 1 else inches
    diameter_mm, pitch_mm = float(inches * MM_PER_INCH), float(MM_PER_INCH / per_inch)
    return Thread(f"{written}-{per_inch}", diameter_mm, pitch_mm, is_inch=True)


def _without_pitch(text: str, size: str) -> Unreadable:
    return Unreadable(
        gettext_noop("“%(text)s” needs its threads an inch; write it like %(coarse)s or %(fine)s"),
        text=text[:40],
        coarse=f"{size}-{COARSE_PER_INCH[size]}" if size in COARSE_PER_INCH else "1/2-13",
        fine=f"{size}-{FINE_PER_INCH[size]}" if size in FINE_PER_INCH else "1/2-20",
    )


def _unreadable(text: str) -> Unreadable:
    return Unreadable(
        gettext_noop("“%(text)s” is not a thread; write it like M10, M10x1.25 or 1/2-20"),
        text=text[:40],
    )


def read_grade(text: str, *, is_inch: bool) -> str | None:
    """Return the grade in GRADES that a mark such as "8.8", "class 8.8", "G5" or "5" names.

    A metric thread has ISO classes, an inch one SAE grades. None for anything else, so also
    for no text, for "none seen", for stainless steel and for a class of the other system.
    """
    pattern, known = (_SAE_GRADE, SAE_PROOF_KSI) if is_inch else (_ISO_CLASS, ISO_PROOF_MPA)
    found = pattern.fullmatch(" ".join(text.split()))
    grade = found[1].replace(",", ".") if found else None
    return grade if grade in known else None


def weakest_grade(is_inch: bool) -> str:
    """Return the grade to count with where none is known."""
    return "2" if is_inch else "4.6"


def proof_mpa(grade: str, thread: Thread) -> float:
    """Return the proof stress in MPa of a bolt of ``grade`` (in GRADES) with this thread.

    ISO 898-1 classes for metric threads, SAE J429 grades for inch ones, which depend on size.

    Raises ValueError for a grade that this system does not have, or a size beyond the standard.
    """
    if grade not in (SAE_PROOF_KSI if thread.is_inch else ISO_PROOF_MPA):
        raise ValueError(f"grade {grade!r} does not go with a thread {thread.text}")
    if thread.is_inch:
        return _sae_proof_mpa(grade, thread)
    if grade == "8.8" and thread.diameter_mm > 16:
        return float(ISO_88_ABOVE_M16_MPA)
    return float(ISO_PROOF_MPA[grade])


def _sae_proof_mpa(grade: str, thread: Thread) -> float:
    for largest_in, ksi in SAE_PROOF_KSI[grade]:
        if thread.diameter_mm <= float(largest_in * MM_PER_INCH):
            return ksi * MPA_PER_KSI
    raise ValueError(f"SAE J429 has no grade {grade} for a thread {thread.text}")


def proof_load_n(grade: str, thread: Thread) -> float:
    """Return the load in N that a bolt is proved to: proof stress times stress area."""
    return proof_mpa(grade, thread) * thread.stress_area_mm2
