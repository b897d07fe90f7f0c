"""Many sheets at random, a hundred thousand in the long run: whatever was read, these hold."""

import os
from collections import Counter
from dataclasses import replace
from math import atan, degrees, isclose, radians
from random import Random
from statistics import fmean

import pytest

from alignment.judging import judge
from alignment.readings import ROD, SIDES, SLEEVE, Camber, Limits, Sheet, Toe, Turn
from alignment.uncertainty import CANT_TELL, INSIDE, OUTSIDE

SHEETS_A_SEED = 25_000 if os.environ.get("HYPOTHESIS_PROFILE") == "long" else 5_000
INCH_MM = 25.4
MARKS_MM = (INCH_MM / 16, INCH_MM / 32, INCH_MM / 64, 1.0, 0.5)
OTHER_SIDE = {"left": "right", "right": "left", "across": "across"}
STEPS = ("left sleeve", "right sleeve", "both sleeves", "rods", "one rod", "drive")
VOIDS = {
    "left sleeve": ("camber left", "toe"),
    "right sleeve": ("camber right", "toe"),
    "both sleeves": ("camber left", "camber right", "toe"),
    "rods": ("toe",),
    "one rod": ("toe",),
    "drive": ("camber left", "camber right", "toe"),
}
TURNS = {
    "left sleeve": [(SLEEVE, "left")],
    "right sleeve": [(SLEEVE, "right")],
    "both sleeves": [(SLEEVE, "left"), (SLEEVE, "right")],
    "rods": [(ROD, "left"), (ROD, "right")],
    "one rod": [(ROD, "across")],
    "drive": [],
}


@pytest.mark.parametrize("seed", range(4))
def test_many_sheets_keep_what_must_hold(seed):
    lot, seen = Random(seed), Counter()

    for _ in range(SHEETS_A_SEED):
        sheet, counting = told(lot)
        judged = judge(sheet)
        only_what_counts_is_judged(sheet, counting, judged)
        words_agree_with_figures(sheet, judged)
        # judged once for both, as it takes long
        the_mirrored_cart_is_judged_alike(spoilt(lot, sheet, counting), judged)
        if {one.verdict for one in judged.results.values()} - {CANT_TELL}:
            a_finer_mark_unproves_nothing(lot, sheet, judged)
        seen.update(kinds(sheet, counting, judged))

    assert min(seen[kind] for kind in KINDS) > SHEETS_A_SEED / 100, seen


def told(lot):
    """Return a sheet, and by value its readings that count, told step by step."""
    sheet, cambers, toes, turns, counting = blank(lot), [], [], [], {}
    truth = {"left": lot.gauss(0, 0.6), "right": lot.gauss(0, 0.6), "toe": lot.gauss(4, 4)}
    steps = ["found", *(lot.choice(STEPS[:5]) for _ in range(lot.choice((0, 0, 1, 1, 2))))]
    if lot.random() < 0.3:
        steps.append("drive")
    for pass_no, step in enumerate(steps, start=1):
        turns += [Turn(what, at, pass_no, 1.0) for what, at in TURNS.get(step, ())]
        for name in VOIDS.get(step, ()):
            counting.pop(name, None)
        for name, readings in read(lot, sheet, truth, pass_no):
            (toes if name == "toe" else cambers).extend(readings)
            if name != "toe" or not readings[0].is_void:
                counting[name] = readings
    drive_pass = len(steps) if steps[-1] == "drive" else None
    lot.shuffle(cambers)
    return replace(sheet, cambers=cambers, toes=toes, turns=turns, drive_pass=drive_pass), counting


def blank(lot):
    floor = (lot.uniform(0, 8), lot.uniform(800, 1000), lot.choice(SIDES))
    return Sheet(
        mark_mm=lot.choice(MARKS_MM),
        gauge_mark_deg=lot.choice((0.1, 0.25, 0.5)),
        floor=floor if lot.random() < 0.3 else None,
        limits=lot.choice((Limits(), Limits(-1.0, 0.25, 0.75, lot.uniform(-8, 1), 5.0))),
    )


def read(lot, sheet, truth, pass_no):
    """Yield the readings of a pass by value; some are left out."""
    for side in SIDES:
        if lot.random() < 0.8:
            yield f"camber {side}", cambers_read(lot, sheet, side, truth[side], pass_no)
    if lot.random() < 0.8:
        is_void = lot.random() < 0.1
        yield (
            "toe",
            [
                toe_read(lot, sheet, truth["toe"], pass_no, is_void)
                for _ in range(lot.randint(1, 5))
            ],
        )


def cambers_read(lot, sheet, side, camber_deg, pass_no):
    bent_deg = lot.choice((0.0, 0.4))
    readings = []
    for _ in range(lot.randint(1, 3)):
        half_turn = lot.random() < 0.3
        read_deg = lot.gauss(camber_deg - bent_deg if half_turn else camber_deg + bent_deg, 0.1)
        if lot.random() < 0.2:
            figures = {"gauge_deg": round(read_deg / 0.1) * 0.1}
        else:
            marks = round(radians(read_deg) * 280 / sheet.mark_mm)
            figures = {
                "gap_top_mm": 40.0,
                "gap_bottom_mm": 40.0 + marks * sheet.mark_mm,
                "between_mm": 280.0,
            }
        readings.append(Camber(side, pass_no, half_turn=half_turn, **figures))
    return readings


def toe_read(lot, sheet, toe_mm, pass_no, is_void):
    apart_mm = round(lot.gauss(toe_mm, 0.5) / sheet.mark_mm) * sheet.mark_mm
    return Toe(900.0, 900.0 + apart_mm, pass_no, is_void)


KINDS = (
    INSIDE,
    CANT_TELL,
    OUTSIDE,
    "not counting",
    "missing",
    "toe-out allowed",
    "floor",
    "half turn",
)


def kinds(sheet, counting, judged):
    """Yield what a sheet is a case of, so that no property holds for want of cases."""
    yield from {one.verdict for one in judged.results.values()}
    toe, low_mm = judged.results.get("toe"), sheet.limits.toe_low_mm
    cases = {
        "not counting": sum(map(len, counting.values())) < len(sheet.cambers) + len(sheet.toes),
        "missing": bool(judged.missing),
        "toe-out allowed": toe and toe.value < 0 <= toe.value - toe.expanded - low_mm,
        "floor": sheet.floor is not None,
        "half turn": any(one.half_turn for one in sheet.cambers),
    }
    yield from (case for case, is_so in cases.items() if is_so)


def only_what_counts_is_judged(sheet, counting, judged):
    assert set(judged.results) - {"side to side"} == set(counting)
    assert set(judged.missing) == {"camber left", "camber right", "toe"} - set(counting)
    for name, readings in counting.items():
        assert isclose(judged.results[name].value, value_of(sheet, readings), abs_tol=1e-9)


def value_of(sheet, readings):
    """Return the mean of readings by the plain formulas, half a turn apart."""
    if isinstance(readings[0], Toe):
        return fmean(one.rear_mm - one.front_mm for one in readings)
    groups = ([one for one in readings if one.half_turn is half] for half in (True, False))
    return fmean(fmean(leans_deg(sheet, one) for one in group) for group in groups if group)


def leans_deg(sheet, one):
    if one.gauge_deg is not None:
        return one.gauge_deg
    lean_deg = degrees(atan((one.gap_bottom_mm - one.gap_top_mm) / one.between_mm))
    if sheet.floor is None:
        return lean_deg
    fall_mm, over_mm, low_side = sheet.floor
    return lean_deg + degrees(atan(fall_mm / over_mm)) * (1 if one.side == low_side else -1)


def spoilt(lot, sheet, counting):
    """Return the sheet with other figures where a reading does not count: all is judged alike."""
    kept = {id(one) for readings in counting.values() for one in readings}
    cambers = [
        one if id(one) in kept else Camber(one.side, one.pass_no, gauge_deg=lot.uniform(-9, 9))
        for one in sheet.cambers
    ]
    toes = [
        one if id(one) in kept else replace(one, rear_mm=lot.uniform(850, 950))
        for one in sheet.toes
    ]
    return replace(sheet, cambers=cambers, toes=toes)


def words_agree_with_figures(sheet, judged):
    for name, one in judged.results.items():
        assert 0 <= one.probability <= 1
        assert one.expanded == 2 * one.standard > 0
        if one.verdict == INSIDE:
            assert one.probability > 0.954
        if one.verdict == OUTSIDE:
            assert one.probability < 0.023
            assert name in judged.outside
    assert set(judged.outside).isdisjoint(judged.unsure)
    toe = judged.results.get("toe")
    assert toe is None or toe.value >= 0 or toe.verdict != INSIDE
    assert not judged.is_toe_out or toe.verdict == OUTSIDE


def the_mirrored_cart_is_judged_alike(sheet, judged):
    mirrored = judge(mirrored_of(sheet)).results

    assert mirrored.get("toe") == judged.results.get("toe")
    assert mirrored.get("camber left") == judged.results.get("camber right")
    assert mirrored.get("camber right") == judged.results.get("camber left")
    if "side to side" in judged.results:
        here, there = judged.results["side to side"], mirrored["side to side"]
        assert (there.value, there.verdict) == (-here.value, here.verdict)
        assert isclose(there.expanded, here.expanded)
        assert isclose(there.probability, here.probability, abs_tol=1e-12)


def mirrored_of(sheet):
    floor = sheet.floor and (*sheet.floor[:2], OTHER_SIDE[sheet.floor[2]])
    return replace(
        sheet,
        cambers=[replace(one, side=OTHER_SIDE[one.side]) for one in sheet.cambers],
        turns=[replace(one, at=OTHER_SIDE[one.at]) for one in sheet.turns],
        floor=floor,
    )


def a_finer_mark_unproves_nothing(lot, sheet, judged):
    finer = lot.choice((0.5, 0.25, 0.9))
    fine = judge(
        replace(sheet, mark_mm=sheet.mark_mm * finer, gauge_mark_deg=sheet.gauge_mark_deg * finer)
    )

    for name, one in judged.results.items():
        assert fine.results[name].expanded < one.expanded
        assert one.verdict in (CANT_TELL, fine.results[name].verdict)
    assert judged.verdict in (CANT_TELL, fine.verdict)
