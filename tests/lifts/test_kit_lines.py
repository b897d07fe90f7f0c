"""A kit's joints as lines of text: read, refused with line and value, written back."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.kit_lines import (
    FAMILIES,
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

    assert len(joints) == 22
    assert {joint["target_nm"] for joint in joints} == {None}
    assert len(read_points(USUAL_POINTS)) == 5


NAMES = st.text("abcdefghij ", min_size=1, max_size=20).map(str.strip).filter(bool)
TORQUES = st.none() | st.decimals("0.1", 500, places=2).map(lambda value: format(value, "f"))
JOINTS = st.builds(
    dict,
    name=NAMES,
    family=st.sampled_from(FAMILIES[1:]),
    wheel=st.sampled_from(WHEELS),
    count=st.integers(1, 40),
    thread=st.sampled_from(["", "M10", "1/2-20"]),
    pitch_mm=st.none() | st.just("1.5"),
    grade=st.sampled_from(["", "8.8"]),
    target_nm=TORQUES,
    low_nm=TORQUES,
    high_nm=TORQUES,
    stages=st.sampled_from(["", "50, 80, 100 %"]),
    pattern=st.sampled_from(ORDERS),
    weight_on=st.booleans(),
    thread_locker=st.sampled_from(LOCKERS),
    locking=st.sampled_from(LOCKINGS),
    is_critical=st.booleans(),
    source=st.sampled_from(["", "maker's sheet 3"]),
).map(
    lambda joint: (
        joint | {"target_typed": f"{joint['target_nm']} N.m" if joint["target_nm"] else ""}
    )
)


@given(st.lists(JOINTS, min_size=1, max_size=6, unique_by=lambda joint: joint["name"]))
def test_lines_written_are_read_back_the_same(joints):
    assert read_joints(write_joints(joints), "lbf.ft") == joints


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
