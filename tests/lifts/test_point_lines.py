"""The points of a certificate as people write them."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.point_lines import BadPoint, read_points

GOOD = "20 N.m | -3 % | 0.5 %\n60 N.m | 58.2 N.m | 60.3 N.m\n100 N.m | 1 %"


def test_an_error_is_a_share_or_the_torque_delivered():
    points = read_points(GOOD, "N.m")

    assert [(p.set_typed, p.set_nm, p.as_found, p.as_left) for p in points] == [
        ("20 N.m", Decimal(20), Decimal("-0.03"), Decimal("0.005")),
        ("60 N.m", Decimal(60), Decimal("-0.03"), Decimal("0.005")),
        ("100 N.m", Decimal(100), Decimal("0.01"), Decimal("0.01")),
    ]


def test_headings_tabs_and_empty_lines_do_not_matter():
    pasted = "Set\tAs found\tAs left\n\n" + GOOD.replace(" | ", "\t") + "\n\n"

    assert read_points(pasted, "N.m") == read_points(GOOD, "N.m")


def test_a_setting_without_a_unit_is_in_the_sites_and_what_it_delivered_says_its_own():
    lines = "25 | 33.9 N.m | 0 %\n50 | 0 %\n75 | 0 %"

    first = read_points(lines, "lbf.ft")[0]

    assert round(first.set_nm, 3) == Decimal("33.895")  # NIST SP 811 B.9: 1.355818 N.m
    assert first.as_found == Decimal("0.00013")


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("20 N.m | -3 %\n60 N.m | 0 %", "A certificate needs at least 3 torques, one a line"),
        ("", "A certificate needs at least 3 torques, one a line"),
        (GOOD + "\n20 N.m | 1 %", "“20 N.m” stands there twice"),
        (
            GOOD + "\n80 N.m",
            "Line 4: write set | as found | as left, such as 20 N.m | -3 % | 0.5 %",
        ),
        (
            GOOD + "\n80 N.m | -3 | 0 %",
            "Line 4, as found “-3”: write it as a share, such as -3 %, "
            "or as a torque with its unit",
        ),
        (
            GOOD + "\n80 N.m | 1 % | 40 lbf.ft.x",
            "Line 4, as left “40 lbf.ft.x”: “40 lbf.ft.x”: the unit “lbf.ft.x” is not one of "
            "N·m, lbf·ft, lbf·in, kgf·m, kgf·cm",
        ),
        (
            GOOD + "\n80 N.m | 80 lbf.in",
            "Line 4, as found “80 lbf.in”: more than 50 % off: another torque or unit is meant",
        ),
        (GOOD + "\n0 N.m | 1 %", "Line 4, set “0 N.m”: a torque above zero"),
        (
            GOOD + "\n0.0004 N.m | 1 %",
            "Line 4, set “0.0004 N.m”: a torque above zero",
        ),
        (GOOD + "\n80 N.m | x %", None),
        (GOOD + "\nfull | 1 %", None),
    ],
)
def test_a_bad_line_is_named(lines, said):
    with pytest.raises(BadPoint) as bad:
        read_points(lines, "N.m")

    assert said is None or str(bad.value) == said
    assert said is not None or str(bad.value).startswith("Line 4, ")


@given(st.integers(-4999, 4999), st.integers(1, 4000))
def test_a_share_and_the_torque_it_delivers_are_one_error(hundredths, nm):
    share = Decimal(hundredths) / 100
    delivered = nm * (1 + share / 100)
    others = f"{nm + 1} N.m | 0 %\n{nm + 2} N.m | 0 %"

    by_share = read_points(f"{nm} N.m | {share} %\n{others}", "N.m")[0]
    by_torque = read_points(f"{nm} N.m | {delivered} N.m\n{others}", "N.m")[0]

    assert by_share.as_found == by_torque.as_found == share / 100
