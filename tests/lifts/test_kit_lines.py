"""A kit's joints as lines of text: read, refused with line and value, written back."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.kit_lines import (
    FAMILIES,
    JOINT_MARKS,
    LOCKERS,
    LOCKINGS,
    ORDERS,
    WHEELS,
    BadLine,
    read_joints,
    read_points,
    write_joints,
    write_points,
)
from lifts.usual_joints import USUAL_JOINTS, USUAL_POINTS

HEADS = "joint | family | wheel | count | target"


def test_a_target_is_kept_as_typed_beside_newton_metres():
    [joint] = read_joints(f"{HEADS}\nleft lugs | lugs | left front | 4 | 55 lbf.ft", "N.m")

    assert joint["target_typed"] == "55 lbf.ft"
    # 55 lbf.ft on 1/2-20 lugs: common practice, no source
    assert round(Decimal(joint["target_nm"]), 2) == Decimal("74.57")


@pytest.mark.parametrize(("unit", "newton_metres"), [("N.m", "25.00"), ("lbf.ft", "33.90")])
def test_a_target_without_a_unit_is_in_the_sites(unit, newton_metres):
    [joint] = read_joints(f"{HEADS}\nU-bolts | u-bolts | | 4 | 25", unit)

    assert round(Decimal(joint["target_nm"]), 2) == Decimal(newton_metres)


def test_a_spreadsheet_pasted_with_tabs_is_read():
    [joint] = read_joints("Joint\tFamily\tMarks\nrack\tsteering-joints\tCritical, weight on", "N.m")

    assert (joint["name"], joint["is_critical"], joint["weight_on"]) == ("rack", True, True)
    assert (joint["target_nm"], joint["count"]) == (None, 1)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("x | springs | | 1 |", "Line 2, family “springs”: one of: lugs, u-bolts"),
        ("x | lugs | | 4 |", "Line 2, wheel “”: lugs need their wheel"),
        ("x | lugs | front | 4 |", "Line 2, wheel “front”"),
        ("x | u-bolts | | many |", "Line 2, count “many”: a number from 1 to 40"),
        ("x | u-bolts | | 0 |", "Line 2, count “0”"),
        ("x | u-bolts | | 4 | 25 stone", "Line 2, target “25 stone”"),
        ("x | u-bolts | | 4 | -5", "Line 2, target “-5”: a number above zero"),
        ("x | u-bolts | | 4 | 0", "Line 2, target “0”: a number above zero"),
        ("x | u-bolts | | 4 | 99999", "Line 2, target “99999”"),
        (" | u-bolts | | 4 |", "Line 2, joint “”: a name"),
        (f"{'x' * 55} | u-bolts | | 4 |", "at most 54 characters"),
    ],
)
def test_a_wrong_line_is_named_with_its_value(line, said):
    with pytest.raises(BadLine) as bad:
        read_joints(f"{HEADS}\n{line}", "N.m")

    assert said in str(bad.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "A kit has at least one joint"),
        (HEADS, "A kit has at least one joint"),
        ("joint | colour\nx | red", "Line 1 must name the columns"),
        ("family\nlugs", "Line 1 must name the columns"),
        (f"{HEADS}\nx | u-bolts\nx | u-bolts", "“x” stands there twice"),
        (f"{HEADS}\na | lugs | left rear\nb | lugs | left rear", "“left rear” stands there twice"),
        (f"{HEADS}\n" + "x | lugs\n" * 250, "At most 200 lines"),
    ],
)
def test_a_list_that_cannot_be_a_kit_is_refused(text, said):
    with pytest.raises(BadLine) as bad:
        read_joints(text, "N.m")

    assert said in str(bad.value)


def test_rubber_is_marked_among_grease_points():
    points = read_points("point | count | marks\nking pin | 2 |\nbushings | 4 | rubber")

    assert [(point["name"], point["is_rubber"]) for point in points] == [
        ("king pin", False),
        ("bushings", True),
    ]


def test_no_grease_points_is_a_list_too():
    assert read_points("") == []


def test_the_usual_lists_can_be_read_and_hold_no_torque():
    joints = read_joints(USUAL_JOINTS, "N.m")

    assert len(joints) == 25
    assert {joint["target_nm"] for joint in joints} == {None}
    assert [joint["name"] for joint in joints if joint["is_by_look"]] == [
        "left spring centre bolt",
        "right spring centre bolt",
        "front bumper",
    ]
    assert len(read_points(USUAL_POINTS)) == 5


def test_each_mark_is_read_as_its_own():
    marks = ", ".join(JOINT_MARKS)

    [joint] = read_joints(f"joint | family | marks\nx | u-bolts | {marks}", "N.m")

    assert [joint[name] for name in JOINT_MARKS.values()] == [True] * 6


def test_a_grip_a_nut_factor_and_removals_are_read_and_kept():
    lines = "joint | family | grip | k | removals\nx | u-bolts | 5 7/8 in | 0.18 | 3"

    [joint] = read_joints(lines, "N.m")

    # 5 7/8 in is 149.225 mm: NIST SP 811, an inch is 25.4 mm exactly
    assert (joint["grip_typed"], joint["grip_mm"]) == ("5 7/8 in", "149.225")
    assert (joint["nut_factor"], joint["removals_allowed"]) == ("0.18", 3)


def test_figures_without_a_unit_are_kept_with_the_one_meant():
    lines = "joint | family | grip | low | target | high\nx | u-bolts | 6 | 22.5 | 25 | 27.5"

    [joint] = read_joints(lines, "lbf.ft", "in")

    assert [joint[f"{head}_typed"] for head in ("grip", "low", "target", "high")] == [
        "6 in",
        "22.5 lbf.ft",
        "25 lbf.ft",
        "27.5 lbf.ft",
    ]


@pytest.mark.parametrize(
    ("typed", "newton_metres"),
    # NIST SP 811 (2008) App. B factors
    [("25 ft-lb", "33.8954"), ("300 in lb", "33.8954"), ("4 kgf.m", "39.2266"), ("40 Nm", "40")],
)
def test_a_target_in_any_unit_of_torque_is_kept_as_typed(typed, newton_metres):
    [joint] = read_joints(f"joint | family | target\nx | u-bolts | {typed}", "N.m")

    assert joint["target_typed"] == typed
    assert round(Decimal(joint["target_nm"]), 4) == Decimal(newton_metres)


@pytest.mark.parametrize(
    ("heads", "cells", "said"),
    [
        ("K", "0.04", "K “0.04”: a number from 0.05 to 0.5"),
        ("K", "0.51", "K “0.51”: a number from 0.05 to 0.5"),
        ("K", "dry", "K “dry”"),
        ("removals", "-1", "removals “-1”: a number from 0 to 20"),
        ("removals", "٣", "removals “٣”: a number from 0 to 20"),
        ("grip", "0 mm", "grip “0 mm”: a number above zero"),
        ("grip", "25 lbf.ft", "grip “25 lbf.ft”"),
        ("target", "25 kg", "target “25 kg”"),
        ("low | target", "30 | 25", "target “25”: low, target and high must rise"),
        ("target | high", "30 | 25", "target “30”: low, target and high must rise"),
        ("low | high", "30 | 25", "low, target and high must rise"),
        ("low | target", "25 lbf.ft | 30 N.m", "low, target and high must rise"),
        ("thread | pitch mm", "M10x1.25 | 1.5", "pitch mm “1.5”: the thread “M10x1.25” has"),
        ("thread | pitch mm", "1/2-20 | 1.5", "pitch mm “1.5”: the thread “1/2-20” has"),
        ("marks", "critical, by ear", "marks “critical, by ear”: critical, weight on, by look"),
    ],
)
def test_a_wrong_figure_is_named_with_its_value(heads, cells, said):
    with pytest.raises(BadLine) as bad:
        read_joints(f"joint | family | {heads}\nx | u-bolts | {cells}", "N.m")

    assert said in str(bad.value)


@pytest.mark.parametrize("thread", ["taper", "rod", "spindle", "1/2", "kit sheet"])
def test_a_thread_that_is_no_size_is_kept_as_text(thread):
    [joint] = read_joints(f"joint | family | thread\nx | other-joints | {thread}", "N.m")

    assert joint["thread"] == thread


def test_a_sheet_of_the_older_columns_is_read():
    lines = (
        "joint | family | wheel | count | thread | pitch mm | grade | target | low | high | "
        "stages | order | locker | locking | marks | source\n"
        "U-bolts | u-bolts | left rear | 4 | M10 | 1.5 | 8.8 | 34 N.m | 30 N.m | 38 N.m | "
        "3 steps | crosswise | | | critical, weight on | sheet 2"
    )

    [joint] = read_joints(lines, "N.m")

    assert (joint["target_nm"], joint["low_nm"], joint["high_nm"]) == ("34", "30", "38")
    assert (joint["grip_mm"], joint["nut_factor"], joint["removals_allowed"]) == (None,) * 3
    assert (joint["is_critical"], joint["is_by_look"]) == (True, False)


def test_a_cell_with_a_stroke_survives_being_written():
    [joint] = read_joints("joint\tfamily\tsource\nx\tu-bolts\tsheet 2 | page 3", "N.m")

    assert read_joints(write_joints([joint]), "N.m") == [joint]
    assert joint["source"] == "sheet 2 | page 3"


def decimals(least, most):
    return st.decimals(least, most, places=2).map(lambda value: format(value, "f"))


def with_typed(joint):
    """Return the joint with its figures as typed, its torques in rising order."""
    torques = sorted(joint.pop("torques"), key=Decimal)
    figures = {f"{head}_nm": None for head in ("low", "target", "high")}
    figures |= {f"{head}_nm": nm for head, nm in zip(joint.pop("heads"), torques, strict=False)}
    typed = {f"{name[:-3]}_typed": f"{nm} N.m" if nm else "" for name, nm in figures.items()}
    grip = {"grip_typed": f"{joint['grip_mm']} mm" if joint["grip_mm"] else ""}
    return joint | figures | typed | grip


NAMES = st.text("abcdefghij ", min_size=1, max_size=20).map(str.strip).filter(bool)
JOINTS = st.builds(
    dict,
    name=NAMES,
    family=st.sampled_from(FAMILIES[1:]),
    wheel=st.sampled_from(WHEELS),
    count=st.integers(1, 40),
    thread=st.sampled_from(["", "M10", "1/2-20", "taper"]),
    pitch_mm=st.none(),
    grade=st.sampled_from(["", "8.8", "none seen"]),
    grip_mm=st.none() | decimals("0.1", 1000),
    nut_factor=st.none() | decimals("0.05", "0.5"),
    torques=st.lists(decimals("0.1", 500), min_size=3, max_size=3),
    heads=st.lists(st.sampled_from(["low", "target", "high"]), unique=True).map(
        lambda heads: sorted(heads, key=["low", "target", "high"].index)
    ),
    stages=st.sampled_from(["", "50, 80, 100 %"]),
    pattern=st.sampled_from(ORDERS),
    thread_locker=st.sampled_from(LOCKERS),
    locking=st.sampled_from(LOCKINGS),
    removals_allowed=st.none() | st.integers(0, 20),
    **dict.fromkeys(JOINT_MARKS.values(), st.booleans()),
    source=st.sampled_from(["", "maker's sheet 3", "sheet 2 | page 3"]),
).map(with_typed)


@given(st.lists(JOINTS, min_size=1, max_size=6, unique_by=lambda joint: joint["name"]))
def test_lines_written_are_read_back_the_same(joints):
    assert read_joints(write_joints(joints), "lbf.ft", "in") == joints


@given(
    st.lists(
        st.builds(
            dict,
            name=NAMES,
            count=st.integers(1, 40),
            is_rubber=st.booleans(),
            weight_on=st.booleans(),
        ),
        max_size=6,
        unique_by=lambda point: point["name"],
    )
)
def test_points_written_are_read_back_the_same(points):
    assert read_points(write_points(points)) == points
