"""What to turn on a sheet so that a value comes to the middle of its limits. Pure."""

from dataclasses import dataclass

from alignment.advice import (
    Advice,
    Steering,
    advise,
    camber_deg_a_flat,
    formula_change,
    toe_mm_a_flat,
    toe_moved_mm,
)
from alignment.asking import limits_of
from alignment.counting import SIDE_TO_SIDE, TOE
from alignment.judging import Judged
from alignment.learning import Gain, Learnt, gain, rods_seen, sleeves_seen
from alignment.readings import SIDES, Sheet
from alignment.uncertainty import INSIDE, OUTSIDE, verdict

BOTH, ACROSS = "both", "across"


@dataclass(frozen=True)
class Correction:
    """One part to turn: ``at`` a side, "both" sides alike, or the rod "across".

    ``advice`` and ``gain`` are None where a figure of the part is not known.
    """

    at: str
    name: str
    advice: Advice | None = None
    gain: Gain | None = None


def sleeve_corrections(
    sheet: Sheet, judged: Judged, steering: Steering, learnt: Learnt
) -> tuple[Correction, ...]:
    """Return the sleeves to turn: of wheels that are not inside.

    Of both where none of those is to be turned, or where the sides differ by too much and
    still would.
    """
    each = {side: _sleeve(sheet, judged, side, steering, learnt) for side in SIDES}
    chosen = [side for side in SIDES if judged.results[f"camber {side}"].verdict != INSIDE]
    turned = tuple(each[side] for side in chosen if _turns(each[side]))
    differ = not turned or judged.results[SIDE_TO_SIDE].verdict == OUTSIDE
    if differ and not _agree(sheet, judged, each, chosen):
        return tuple(each[side] for side in SIDES if _turns(each[side]))
    return turned


def rod_correction(sheet: Sheet, judged: Judged, steering: Steering, learnt: Learnt) -> Correction:
    """Return how to turn the tie rods: both sides alike, or the one across."""
    rod = steering.rod
    at = ACROSS if rod is not None and rod.is_across else BOTH
    if rod is None or sheet.diameter_mm is None:
        return Correction(at, TOE)
    known = gain(
        toe_mm_a_flat(rod, sheet.diameter_mm),
        here=rods_seen(sheet, _formula(sheet, steering)),
        cart=learnt.rod_cart,
        kit=learnt.rod_kit,
    )
    return Correction(at, TOE, _advice(sheet, judged, TOE, known), known)


def toe_moves_mm(
    sheet: Sheet, judged: Judged, steering: Steering, corrections: tuple[Correction, ...]
) -> float | None:
    """Return how much toe turning these sleeves will move; None where it is not known."""
    if sheet.diameter_mm is None or any(one.advice is None for one in corrections):
        return None
    each_deg = [one.advice.predicted - judged.results[one.name].value for one in corrections]
    each_mm = [toe_moved_mm(change_deg, steering, sheet.diameter_mm) for change_deg in each_deg]
    return None if None in each_mm else sum(each_mm)


def _sleeve(sheet, judged, side, steering, learnt) -> Correction:
    name = f"camber {side}"
    if steering.sleeve is None:
        return Correction(side, name)
    formula = _formula(sheet, steering)
    known = gain(
        camber_deg_a_flat(steering.sleeve),
        # the other wheel's sleeve where this one was not turned yet
        here=[*sleeves_seen(sheet, formula), *sleeves_seen(sheet, formula, (side,))],
        cart=learnt.sleeve_cart,
        kit=learnt.sleeve_kit,
    )
    return Correction(side, name, _advice(sheet, judged, name, known), known)


def _formula(sheet, steering):
    return lambda turn: formula_change(turn, steering, sheet.diameter_mm)


def _advice(sheet, judged, name, known) -> Advice:
    """Return the flats to the middle, halves where whole ones would leave a doubt."""
    low, high = limits_of(sheet, name)
    result, middle = judged.results[name], (low + high) / 2
    if high - low > 2 * result.expanded:
        low, high = low + result.expanded, high - result.expanded
    return advise(result.value, target=middle, low=low, high=high, a_flat=known.a_flat)


def _agree(sheet, judged, each, chosen) -> bool:
    """Whether both wheels will be alike enough, beyond doubt, once the chosen are turned."""
    if not chosen or any(one.advice is None for one in each.values()):
        return bool(chosen)
    left, right = (_then(judged, each[side], side in chosen) for side in SIDES)
    doubt = judged.results[SIDE_TO_SIDE].expanded
    return verdict(left - right, *limits_of(sheet, SIDE_TO_SIDE), doubt) == INSIDE


def _then(judged, correction, is_turned):
    if is_turned and correction.advice is not None:
        return correction.advice.predicted
    return judged.results[correction.name].value


def _turns(correction) -> bool:
    return correction.advice is None or correction.advice.flats != 0
