import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.judging import judge, judge_pass, judge_stage
from alignment.readings import ROD, SLEEVE, Camber, Limits, Sheet, Toe, Turn
from alignment.uncertainty import CANT_TELL, INSIDE, OUTSIDE

INCH_MM = 25.4
SIXTEENTH_MM, THIRTY_SECOND_MM = INCH_MM / 16, INCH_MM / 32
MIRROR = {"left": "right", "right": "left"}


def square(top_in, bottom_in, side="left", pass_no=1, between_in=12):
    gaps_mm = (top_in * INCH_MM, bottom_in * INCH_MM, between_in * INCH_MM)
    return Camber(side, pass_no, *gaps_mm)


def gauge(deg, side="left", pass_no=1, *, half_turn=False):
    return Camber(side, pass_no, gauge_deg=deg, half_turn=half_turn)


def toes(*toes_in, pass_no=1):
    return [Toe(36 * INCH_MM, (36 + toe_in) * INCH_MM, pass_no) for toe_in in toes_in]


@pytest.mark.parametrize("side", ["left", "right"])
def test_judge_calls_a_degree_and_a_half_outside(side):
    sheet = Sheet(SIXTEENTH_MM, cambers=[square(3 / 8, 1 / 16, side)])

    result = judge(sheet).results[f"camber {side}"]

    assert (round(result.value, 2), result.verdict) == (-1.49, OUTSIDE)


@pytest.mark.parametrize(
    ("mark_mm", "count", "word"), [(SIXTEENTH_MM, 1, CANT_TELL), (THIRTY_SECOND_MM, 3, INSIDE)]
)
def test_judge_of_three_tenths_of_a_degree_depends_on_the_reading(mark_mm, count, word):
    three_tenths = square(0, 12 * 0.005236)  # tan 0.30 degrees

    result = judge(Sheet(mark_mm, cambers=[three_tenths] * count)).results["camber left"]

    assert (round(result.value, 2), result.verdict) == (0.30, word)


@pytest.mark.parametrize(
    ("mark_mm", "toes_in", "word"),
    [
        (SIXTEENTH_MM, [3 / 16], CANT_TELL),
        (THIRTY_SECOND_MM, [3 / 16, 7 / 32, 5 / 32], INSIDE),
        (THIRTY_SECOND_MM, [0], OUTSIDE),
        (THIRTY_SECOND_MM, [-3 / 16], OUTSIDE),
    ],
)
def test_judge_of_toe(mark_mm, toes_in, word):
    assert judge(Sheet(mark_mm, toes=toes(*toes_in))).results["toe"].verdict == word


def test_one_pass_of_a_sixteenth_tape_never_proves_a_toe():
    words = {
        judge(Sheet(SIXTEENTH_MM, toes=toes(step / 128))).results["toe"].verdict
        for step in range(16, 33)
    }

    assert words == {CANT_TELL}


def test_judge_frees_the_square_from_the_floor():
    tenths = [square(12 * 0.015709, 0, "left"), square(0, 12 * 0.0017453, "right")]
    floor = (INCH_MM / 4, 36 * INCH_MM, "left")

    level, sloping = (
        judge(Sheet(THIRTY_SECOND_MM, cambers=tenths, floor=f)) for f in (None, floor)
    )

    assert [round(r.value, 2) for r in level.results.values()] == [-0.90, 0.10, -1.00]
    assert [round(r.value, 2) for r in sloping.results.values()] == [-0.50, -0.30, -0.20]


def test_judge_takes_the_wider_doubt_of_a_square_and_a_gauge():
    fine, coarse = (
        judge(Sheet(0.01, mark, [square(0, 0), gauge(0.0)])).results["camber left"].expanded
        for mark in (0.01, 1)
    )

    assert coarse > 0.5 > fine


def test_judge_of_an_empty_sheet_says_nothing():
    found = judge(Sheet(SIXTEENTH_MM))

    assert (found.verdict, found.missing) == ("", ("camber left", "camber right", "toe"))


def test_judge_stage_keeps_what_was_found_before_the_turn():
    sheet = Sheet(
        THIRTY_SECOND_MM,
        cambers=[square(3 / 8, 1 / 16), square(1 / 8, 1 / 8, pass_no=2)],
        toes=[*toes(1 / 2), *toes(3 / 16, pass_no=2)],
        turns=[Turn(SLEEVE, "left", 2)],
    )

    found, left, last = judge_stage(sheet, "found"), judge_stage(sheet, "left"), judge(sheet)

    assert found.results["camber left"].verdict == OUTSIDE
    assert found.results["toe"].value == pytest.approx(12.7)
    assert left.results == last.results
    assert last.results["toe"].value == pytest.approx(4.7625)


gaps_mm = st.floats(0, 20)
sheets = st.builds(
    Sheet,
    mark_mm=st.sampled_from([SIXTEENTH_MM, THIRTY_SECOND_MM, 1.0]),
    cambers=st.lists(
        st.builds(
            Camber,
            side=st.sampled_from(["left", "right"]),
            pass_no=st.integers(1, 3),
            half_turn=st.booleans(),
            gap_top_mm=gaps_mm,
            gap_bottom_mm=gaps_mm,
            between_mm=st.just(300.0),
        ),
        max_size=6,
    ),
    toes=st.lists(
        st.builds(
            Toe,
            front_mm=st.floats(900, 920),
            rear_mm=st.floats(900, 920),
            pass_no=st.integers(1, 3),
            is_void=st.booleans(),
        ),
        max_size=6,
    ),
    turns=st.lists(
        st.builds(
            Turn,
            what=st.sampled_from([SLEEVE, ROD]),
            at=st.sampled_from(["left", "right"]),
            pass_no=st.integers(2, 3),
        ),
        max_size=3,
    ),
    drive_pass=st.none() | st.integers(2, 3),
    floor=st.none()
    | st.tuples(st.floats(0, 20), st.just(900.0), st.sampled_from(["left", "right"])),
)


def mirrored(sheet):
    fall_mm, over_mm, low_side = sheet.floor or (0, 1, "left")
    return replace(
        sheet,
        cambers=[replace(one, side=MIRROR[one.side]) for one in sheet.cambers],
        turns=[replace(turn, at=MIRROR[turn.at]) for turn in sheet.turns],
        floor=sheet.floor and (fall_mm, over_mm, MIRROR[low_side]),
    )


@given(sheets)
def test_judge_of_the_mirrored_cart_is_mirrored(sheet):
    straight, other = judge(sheet), judge(mirrored(sheet))

    for name, result in straight.results.items():
        swapped = name.replace("left", "*").replace("right", "left").replace("*", "right")
        sign = -1 if name == "side to side" else 1
        twin = other.results[swapped]
        assert twin.value == pytest.approx(sign * result.value, abs=1e-9)
        assert (twin.expanded, twin.verdict) == (result.expanded, result.verdict)
    assert len(other.missing) == len(straight.missing)


@given(sheets)
def test_judge_of_swapped_ends_has_the_other_sign(sheet):
    swapped = replace(
        sheet,
        cambers=[
            replace(one, gap_top_mm=one.gap_bottom_mm, gap_bottom_mm=one.gap_top_mm)
            for one in sheet.cambers
        ],
        toes=[replace(one, front_mm=one.rear_mm, rear_mm=one.front_mm) for one in sheet.toes],
        floor=None,
    )

    straight, other = judge(replace(sheet, floor=None)), judge(swapped)

    for name, result in straight.results.items():
        assert other.results[name].value == pytest.approx(-result.value, abs=1e-9)
        assert other.results[name].expanded == pytest.approx(result.expanded, abs=1e-9)


@given(sheets, st.floats(0.05, 1))
def test_judge_is_never_less_sure_with_a_finer_mark(sheet, finer):
    coarse, fine = judge(sheet), judge(replace(sheet, mark_mm=sheet.mark_mm * finer))

    for name, result in coarse.results.items():
        assert result.verdict in (CANT_TELL, fine.results[name].verdict)


@given(sheets)
def test_judge_never_counts_a_toe_from_before_the_last_turn(sheet):
    after = max([turn.pass_no for turn in sheet.turns], default=0)
    stale = [replace(toe, pass_no=1) for toe in sheet.toes]

    taken = judge(replace(sheet, toes=stale))

    assert ("toe" in taken.missing) is (after > 0 or not _valid(sheet, stale))


def _valid(sheet, toes):
    return [toe for toe in toes if not toe.is_void and sheet.drive_pass is None]


@given(sheets)
def test_judge_never_calls_toe_out_inside(sheet):
    lax = judge(replace(sheet, limits=Limits(toe_low_mm=-50, toe_high_mm=50)))

    toe = lax.results.get("toe")

    assert toe is None or toe.value >= 0 or toe.verdict != INSIDE


def test_judge_takes_the_latest_pass_of_each_value():
    sheet = Sheet(
        THIRTY_SECOND_MM,
        cambers=[gauge(-1), gauge(0.2, "right"), gauge(0.1, pass_no=2)],
        toes=[*toes(1 / 2, pass_no=2), *toes(3 / 16, 3 / 16, pass_no=3)],
        turns=[Turn(SLEEVE, "left", 2), Turn(ROD, "left", 3)],
    )

    results = judge(sheet).results

    assert {name: (round(one.value, 4), one.count) for name, one in results.items()} == {
        "camber left": (0.1, 1),
        "camber right": (0.2, 1),
        "side to side": (-0.1, 1),
        "toe": (4.7625, 2),
    }
    assert judge_pass(sheet, 2).results["toe"].value == pytest.approx(12.7)


@pytest.mark.parametrize(
    ("turns", "drive_pass", "missing"),
    [
        ([Turn(SLEEVE, "left", 2)], None, ("camber left", "toe")),
        ([Turn(SLEEVE, "right", 2)], None, ("camber right", "toe")),
        ([Turn(ROD, "left", 2)], None, ("toe",)),
        ([], 2, ("camber left", "camber right", "toe")),
        ([], None, ()),
    ],
)
def test_judge_misses_what_was_turned_or_driven_since(turns, drive_pass, missing):
    cambers, read = [gauge(0), gauge(0, "right")], toes(3 / 16)

    sheet = Sheet(1.0, 0.1, cambers, read, turns, drive_pass)

    assert judge(sheet).missing == missing


def test_judge_of_a_bent_rim_is_the_mean_of_both_halves():
    turned = [gauge(0.9, half_turn=True), gauge(0.9, half_turn=True)]

    bent = judge(Sheet(1.0, cambers=[gauge(-0.5), *turned])).results["camber left"]
    true = judge(Sheet(1.0, cambers=[gauge(0.2)] * 3)).results["camber left"]

    assert bent.value == pytest.approx(0.2)
    assert bent.standard < 2 * true.standard


def test_judge_says_how_probable_inside_is_and_with_what_freedom():
    repeats = [gauge(deg) for deg in (0.0, 0.4, 0.8)]  # scatter 0.4, above the default
    steady = [gauge(0.4, "right")]

    results = judge(Sheet(1.0, 0.05, [*repeats, *steady])).results
    left, right, between = (
        results[name] for name in ("camber left", "camber right", "side to side")
    )

    # u^2 = (0.05 / 2 / sqrt(3))^2 + 0.4^2 / 3; v = u^4 / (0.4^4 / 9 / 2)
    assert left.standard == pytest.approx(0.231391, abs=1e-6)
    assert left.freedom == pytest.approx(2.0157, abs=1e-3)
    assert left.probability == pytest.approx(0.66714, abs=1e-4)
    assert right.freedom == math.inf
    assert between.freedom == pytest.approx(2.8575, abs=1e-3)
    assert (between.count, left.count) == (1, 3)


def test_judge_stage_left_holds_nothing_that_was_not_read_again():
    sheet = Sheet(1.0, 0.1, [gauge(0), gauge(0, "right", 2)], toes(3 / 16))

    assert set(judge_stage(sheet, "left").results) == {"camber right"}
