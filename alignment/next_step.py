"""What to do now with a camber and toe sheet: camber, then toe, then the drive. Pure.

The order of the trade: a turned camber moves toe, so camber is brought in first.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from alignment.advice import FLATS_A_TURN, Steering
from alignment.asking import asks_for, least_of_toe, limits_of
from alignment.contradictions import contradictions, gains_by, misdone
from alignment.correcting import (
    ACROSS,
    BOTH,
    Correction,
    rod_correction,
    sleeve_corrections,
    toe_moves_mm,
)
from alignment.counting import CAMBERS, SIDE_TO_SIDE, TOE
from alignment.judging import Judged
from alignment.learning import Learnt
from alignment.order import NOT_BY_TURNING
from alignment.readings import SIDES, Sheet
from alignment.settling import Asks
from alignment.steering_wheel import Centre, Stands, to_centre
from alignment.uncertainty import CANT_TELL, OUTSIDE

READ_CAMBER, READ_TOE, READ_AGAIN = "read-camber", "read-toe", "read-again"
MORE_READINGS = "more-readings"
SAY_ADJUSTS, TURN_SLEEVE, TURN_ROD = "say-adjusts", "turn-sleeve", "turn-rod"
CENTRE_WHEEL = "centre-wheel"
DRIVE, LOOK_FOR_PART, LEFT_OPEN, DONE = "drive", "look-for-part", "left-open", "done"
ODD_READING, LOOK_AT_TURN = "odd-reading", "look-at-turn"
KERB_HIT, TOO_FAR = "kerb-hit", "too-far"  # reasons to look for a part
KEEPS_WHEEL, BY_DRAG_LINK, CENTRES_WHEEL = "keeps-wheel", "by-drag-link", "centres-wheel"
# common practice, no source
LONG_FLATS, MOST_FLATS = 2 * FLATS_A_TURN, 5 * FLATS_A_TURN
FEW_READINGS = 2


@dataclass(frozen=True)
class NextStep:
    """What to do now, and with which figures.

    ``names`` are the values it is about. ``corrections`` say what to turn, ``toe_moves_mm`` by
    how much that moves toe, ``steering_wheel`` what becomes of the steering wheel, ``centre``
    what centres it where it stood off. ``asks``
    holds for each value what would settle it, ``instead`` what to turn in place of reading
    that often. ``least`` says how often toe is to be read to prove it inside. ``bent`` names
    cambers that are outside and cannot be turned: look there for a bent or worn part, whatever
    else is to be done; ``reason`` says why else a part is looked for.
    """

    kind: str
    names: tuple[str, ...] = ()
    corrections: tuple[Correction, ...] = ()
    toe_moves_mm: float | None = None
    steering_wheel: str = ""
    centre: Centre | None = None
    asks: Mapping[str, Asks] = field(default_factory=dict)
    instead: tuple[Correction, ...] = ()
    least: Asks | None = None
    bent: tuple[str, ...] = ()
    reason: str = ""

    @property
    def most_flats(self) -> float:
        """The most that any one part is to be turned, either way."""
        return max((abs(flats) for flats in self.flats.values()), default=0)

    @property
    def flats(self) -> dict[str, float]:
        """What to turn at each place, plus longer: for camber or toe, and to centre."""
        flats = dict(self.centre.of_sides) if self.centre else {}
        for one in self.corrections:
            if one.advice is not None:
                for at in SIDES if one.at == BOTH else (one.at,):
                    flats[at] = flats.get(at, 0) + one.advice.flats
        return flats


@dataclass(frozen=True)
class _Work:
    """A sheet as it stands, and what is known of its cart."""

    sheet: Sheet
    judged: Judged
    steering: Steering
    camber_adjusts: str
    learnt: Learnt
    enough: bool
    stands: Stands | None
    is_hit: bool
    is_odd: bool

    def missing(self, names):
        return tuple(name for name in names if name in self.judged.missing)

    def off(self, names):
        """The values proved outside, or rather outside than not; with ``enough`` the proved."""
        return tuple(name for name in names if self._is_off(name))

    def _is_off(self, name):
        result = self.judged.results.get(name)
        if result is None or self.enough or result.verdict == OUTSIDE:
            return result is not None and result.verdict == OUTSIDE
        low, high = limits_of(self.sheet, name)
        return result.verdict == CANT_TELL and not low <= result.value <= high

    def unsure(self, names):
        return () if self.enough else tuple(name for name in names if name in self.judged.unsure)

    @property
    def is_adjustable(self):
        return self.camber_adjusts != NOT_BY_TURNING

    @property
    def centre(self):
        return to_centre(self.stands, self.steering.rod, self.sheet)

    def misdone(self, names):
        """Return the values that their own last turn moved the other way, or hardly."""
        gains = gains_by(self.steering, self.sheet.diameter_mm)
        found = contradictions(self.sheet, gains=gains)
        return tuple(name for name in names if misdone(found, self.sheet, name))

    @property
    def last_turn(self):
        return max((turn.pass_no for turn in self.sheet.turns), default=0)

    @property
    def is_driven(self):
        drive = self.sheet.drive_pass
        return drive is not None and drive >= self.last_turn


def next_step(
    sheet: Sheet,
    judged: Judged,
    *,
    steering: Steering,
    camber_adjusts: str,
    learnt: Learnt,
    enough: bool = False,
    stands: Stands | None = None,
    is_hit: bool = False,
    is_odd: bool = False,
) -> NextStep:
    """Return what to do now.

    ``camber_adjusts`` is "sleeve", "not", or empty where nobody said. With ``enough`` the
    mechanic takes no more readings, and what can't be told is left so. ``stands`` says how
    the steering wheel stood off, None where it did not. After a hit (``is_hit``) no bend is
    turned out; while a reading is odd and nobody confirmed it (``is_odd``), nothing is turned.
    """
    about = (camber_adjusts, learnt, enough, stands, is_hit, is_odd)
    work = _Work(sheet, judged, steering, *about)
    step = _before_any(work) or _camber_step(work) or _toe_step(work) or _last_step(work)
    step = _unless_doubted(work, step)
    return step if work.is_adjustable or step.reason else replace(step, bent=_bent(work))


def _before_any(work) -> NextStep | None:
    """Return what comes before reading on: an odd reading, or a part that a hit has bent."""
    if work.is_odd:
        return NextStep(ODD_READING)
    off = work.off((*CAMBERS, SIDE_TO_SIDE, TOE)) if work.is_hit else ()
    return NextStep(LOOK_FOR_PART, off, reason=KERB_HIT) if off else None


def _unless_doubted(work, step) -> NextStep:
    """Return the step, but no turn on top of one that did nothing, nor one too far."""
    if step.kind not in (TURN_SLEEVE, TURN_ROD, CENTRE_WHEEL):
        return step
    names = tuple(one.name for one in step.corrections) or (TOE,)
    if misdone_names := work.misdone(names):
        return NextStep(LOOK_AT_TURN, misdone_names)
    if step.most_flats > MOST_FLATS:
        return NextStep(LOOK_FOR_PART, names, reason=TOO_FAR)
    return step


def _bent(work):
    return work.off((*CAMBERS, SIDE_TO_SIDE))


def _camber_step(work) -> NextStep | None:
    if missing := work.missing(CAMBERS):
        return _read(work, READ_CAMBER, missing)
    names = (*CAMBERS, SIDE_TO_SIDE)
    if off := work.off(names):
        return _turn_sleeve(work, off) if work.is_adjustable else None
    unsure = work.unsure(names)
    return _more_readings(work, unsure) or (_turn_sleeve(work, unsure) if unsure else None)


def _toe_step(work) -> NextStep | None:
    if work.missing((TOE,)):
        return _read(work, READ_TOE, (TOE,))
    if work.off((TOE,)):
        return _turn_rod(work)
    unsure = work.unsure((TOE,))
    step = _more_readings(work, unsure) or (_turn_rod(work) if unsure else None)
    return step or (NextStep(CENTRE_WHEEL, centre=work.centre) if work.centre else None)


def _last_step(work) -> NextStep:
    if work.last_turn and not work.is_driven:
        return NextStep(DRIVE)
    if not work.is_adjustable and (bent := _bent(work)):
        return NextStep(LOOK_FOR_PART, bent)
    unsure = work.judged.unsure
    return NextStep(LEFT_OPEN, unsure) if unsure else NextStep(DONE)


def _read(work, kind, names) -> NextStep:
    if work.is_driven:
        kind, names = READ_AGAIN, work.missing((*CAMBERS, TOE))
    return NextStep(kind, names, least=least_of_toe(work.sheet) if TOE in names else None)


def _more_readings(work, names) -> NextStep | None:
    asks = {name: asks_for(work.sheet, work.judged, name) for name in names}
    settling = {name: one for name, one in asks.items() if one is not None}
    if not settling:
        return None
    instead = () if work.is_hit else _instead(work, settling)
    return NextStep(MORE_READINGS, tuple(settling), asks=settling, instead=instead)


def _instead(work, settling) -> tuple[Correction, ...]:
    """Return what to turn in place of reading more often than a few times, or finer."""
    marks = (work.sheet.mark_mm, work.sheet.gauge_mark_deg)
    if all(one.count <= FEW_READINGS and one.mark in marks for one in settling.values()):
        return ()
    step = _turn_rod(work) if TOE in settling else _turn_sleeve(work, tuple(settling))
    step = _unless_doubted(work, step) if step else None
    found = step.corrections if step else ()
    return tuple(one for one in found if one.advice is not None)


def _turn_sleeve(work, names) -> NextStep | None:
    """Return which sleeves to turn; None where not one flat is to be turned."""
    if not work.is_adjustable:
        return None
    if not work.camber_adjusts:
        return NextStep(SAY_ADJUSTS, names)
    known = (work.sheet, work.judged, work.steering)
    corrections = sleeve_corrections(*known, work.learnt)
    if not corrections:
        return None
    return NextStep(TURN_SLEEVE, names, corrections, toe_moves_mm(*known, corrections))


def _turn_rod(work) -> NextStep | None:
    """Return how to turn the tie rods; None where not one flat is to be turned."""
    correction = rod_correction(work.sheet, work.judged, work.steering, work.learnt)
    if correction.advice is not None and not correction.advice.flats:
        return None
    centre = work.centre
    wheel = BY_DRAG_LINK if correction.at == ACROSS else CENTRES_WHEEL if centre else KEEPS_WHEEL
    return NextStep(TURN_ROD, (TOE,), (correction,), steering_wheel=wheel, centre=centre)
