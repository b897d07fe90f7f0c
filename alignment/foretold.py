"""What the formula gave and what was foretold for each turn of a sheet, copied into its lines.

Of a tie rod the formula's change is its own share of toe; what was foretold is the reading.
"""

from decimal import Decimal
from functools import partial

from alignment.advice import camber_deg_a_flat, formula_change, toe_mm_a_flat
from alignment.counting import TOE, until
from alignment.judging import judge
from alignment.learning import gain, rods_seen, sleeves_seen
from alignment.models import Turn
from alignment.readings import ROD, SLEEVE

DEG_PLACES, MM_PLACES = Decimal("0.0001"), Decimal("0.000001")


def foretell(lines, sheet, steering, learnt):
    """Fill formula and prediction into the lines of turns that were counted."""
    turned = [(line, one) for line, one in _paired(lines, sheet)]
    for line, turn in turned:
        formula = partial(formula_change, steering=steering, diameter_mm=sheet.diameter_mm)
        if formula(turn) is None:
            continue
        before = until(sheet, turn.pass_no - 1)
        if turn.what == SLEEVE:
            _foretell_camber(line, turn, before, formula, steering, learnt)
        else:
            at_once = [one for _line, one in turned if one.pass_no == turn.pass_no]
            line.formula_mm = _kept(formula(turn), MM_PLACES)
            _foretell_toe(line, at_once, before, formula, steering, learnt)


def _paired(lines, sheet):
    return zip((line for line in lines if isinstance(line, Turn)), sheet.turns, strict=True)


def _foretell_camber(line, turn, before, formula, steering, learnt):
    each_deg = camber_deg_a_flat(steering.sleeve)
    here = [*sleeves_seen(before, formula), *sleeves_seen(before, formula, (turn.at,))]
    known = gain(each_deg, here=here, cart=learnt.sleeve_cart, kit=learnt.sleeve_kit)
    line.formula_deg = _kept(formula(turn), DEG_PLACES)
    camber = judge(before).results.get(f"camber {turn.at}")
    if camber is not None:
        predicted = camber.value + turn.longer_flats * known.a_flat
        line.predicted_deg = _kept(predicted, DEG_PLACES)


def _foretell_toe(line, turns, before, formula, steering, learnt):
    changes = [formula(turn) for turn in turns if turn.what == ROD]
    if None in changes:
        return
    each_mm = toe_mm_a_flat(steering.rod, before.diameter_mm)
    here = rods_seen(before, formula)
    known = gain(each_mm, here=here, cart=learnt.rod_cart, kit=learnt.rod_kit)
    toe = judge(before).results.get(TOE)
    if toe is not None:
        predicted = toe.value + sum(changes) * known.a_flat / each_mm
        line.predicted_mm = _kept(predicted, MM_PLACES)


def _kept(figure, places):
    return Decimal(str(figure)).quantize(places)
