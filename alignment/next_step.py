"""What to do now with a camber and toe sheet: camber, then toe, then the drive. Pure.

The order of the trade: a turned camber moves toe, so camber is brought in first.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from alignment.advice import Steering
from alignment.asking import asks_for, limits_of
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
KEEPS_WHEEL, BY_DRAG_LINK, CENTRES_WHEEL = "keeps-wheel", "by-drag-link", "centres-wheel"


@dataclass(frozen=True)
class NextStep:
    """What to do now, and with which figures.

    ``names`` are the values it is about. ``corrections`` say what to turn, ``toe_moves_mm`` by
    how much that moves toe, ``steering_wheel`` what becomes of the steering wheel, ``centre``
    what centres it where it stood off. ``asks``
    holds for each value what would settle it. ``bent`` names cambers that are outside and
    cannot be turned: look there for a bent or worn part, whatever else is to be done.
    """

    kind: str
    names: tuple[str, ...] = ()
    corrections: tuple[Correction, ...] = ()
    toe_moves_mm: float | None = None
    steering_wheel: str = ""
    centre: Centre | None = None
    asks: Mapping[str, Asks] = field(default_factory=dict)
    bent: tuple[str, ...] = ()

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
) -> NextStep:
    """Return what to do now.

    ``camber_adjusts`` is "sleeve", "not", or empty where nobody said. With ``enough`` the
    mechanic takes no more readings, and what can't be told is left so. ``stands`` says how
    the steering wheel stood off, None where it did not.
    """
    work = _Work(sheet, judged, steering, camber_adjusts, learnt, enough, stands)
    step = _camber_step(work) or _toe_step(work) or _last_step(work)
    return step if work.is_adjustable else replace(step, bent=_bent(work))


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
        return NextStep(READ_AGAIN, work.missing((*CAMBERS, TOE)))
    return NextStep(kind, names)


def _more_readings(work, names) -> NextStep | None:
    asks = {name: asks_for(work.sheet, work.judged, name) for name in names}
    settling = {name: one for name, one in asks.items() if one is not None}
    return NextStep(MORE_READINGS, tuple(settling), asks=settling) if settling else None


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
