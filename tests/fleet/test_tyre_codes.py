from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.tyre_codes import TyreCode, disagrees, read_tyre_code

D = Decimal
EIGHTEEN = TyreCode("18x8.50-8", D("457.2"), True, D("215.9"), D("203.2"))


def said(code):
    return (code.diameter_mm, code.is_nominal, code.width_mm, code.rim_mm)


@pytest.mark.parametrize(
    "text",
    [
        *("18x8.50-8", "18X8.5-8", "18×8.5–8", "18 x 8.50 - 8", " 18x8.5 -8\t", "18x8,5-8"),
        *("18x8.5R8", "18x8.5 R 8", "18.0x8.5-8.0", "18x8.50-8 4PR", "18x8.50—8 6 ply"),
    ],
)
def test_read_tyre_code_of_flotation_however_written(text):
    code = read_tyre_code(text)

    assert code.text == text
    assert said(code) == said(EIGHTEEN)


@pytest.mark.parametrize("text", ["205/50-10", "205/50R10", "205 / 50 r 10", "205/50–10 4PR"])
def test_read_tyre_code_of_metric_computes_the_diameter(text):
    # 10 x 25.4 + 2 x 205 x 0.50
    assert said(read_tyre_code(text)) == (D(459), False, D(205), D(254))


@pytest.mark.parametrize("text", ["4.80-8", "4.80/4.00-8", "4,80 - 8"])
def test_read_tyre_code_of_legacy_does_not_guess_a_diameter(text):
    assert said(read_tyre_code(text)) == (None, False, D("121.92"), D("203.2"))


@pytest.mark.parametrize(
    "text",
    [
        *("", "20", "20 in", "20x10", "x10-10", "20x10-", "20x10-10-10", "20x10-10x", "205/50"),
        *("-20x10-10", "1e1x10-8", "200x10-10", "205.5/50-10", "905/50-10", "205/500-10"),
        *("16/6.50-8", "14/6-8", "2x10-٨", "20x10-10 " + 30 * " " + "and more"),
    ],
)
def test_read_tyre_code_refuses_kindly(text):
    with pytest.raises(ValueError, match="is not a tyre size; write it as on the tyre, like"):
        read_tyre_code(text)


@pytest.mark.parametrize("text", ["10x10-20", "10x20-10", "0x8-0", "18x0-8", "4.80-0", "0-8"])
def test_read_tyre_code_refuses_a_tyre_no_larger_than_its_rim(text):
    with pytest.raises(ValueError, match=f"“{text}” is not a tyre size: the tyre would be no"):
        read_tyre_code(text)


def test_a_refusal_shows_no_more_than_fits():
    with pytest.raises(ValueError, match=r"“x{40}” is not"):
        read_tyre_code(500 * "x")


@pytest.mark.parametrize(
    ("measured_mm", "is_questioned"),
    [
        ("457.2", False),
        ("470.916", False),  # 3 % more, exactly
        ("470.917", True),
        ("443.484", False),
        ("443.483", True),
    ],
)
def test_disagrees_beyond_three_percent_of_the_code(measured_mm, is_questioned):
    assert disagrees(EIGHTEEN, D(measured_mm)) is is_questioned


def test_a_code_without_a_diameter_disagrees_with_nothing():
    assert not disagrees(read_tyre_code("4.80-8"), D(900))


def test_disagrees_refuses_no_diameter():
    with pytest.raises(ValueError, match="measured_mm must be above zero, not 0"):
        disagrees(EIGHTEEN, D(0))


INCHES = st.decimals(1, 40, places=1)


@given(INCHES, INCHES, INCHES, st.sampled_from("xX×"), st.sampled_from("-–R"))
def test_a_flotation_code_says_what_was_written(across, wide, rim, by, dash):
    text = f"{across}{by}{wide}{dash}{rim}"

    if across <= rim:
        with pytest.raises(ValueError, match="no larger than its rim"):
            read_tyre_code(text)
    else:
        assert said(read_tyre_code(text)) == (
            across * D("25.4"),
            True,
            wide * D("25.4"),
            rim * D("25.4"),
        )


@given(st.integers(100, 399), st.integers(10, 98), st.integers(4, 20))
def test_a_taller_side_wall_is_a_larger_tyre(wide, ratio, rim):
    smaller, taller = (read_tyre_code(f"{wide}/{r}-{rim}") for r in (ratio, ratio + 1))

    assert taller.diameter_mm - smaller.diameter_mm == D(2 * wide) / 100


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text):
    try:
        code = read_tyre_code(text)
    except ValueError:
        return
    assert code.rim_mm > 0
