"""The band: the value at its place, the verdict under it that the uncertainty gives."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from alignment.band_drawing import Axis, Words, band, shown_between, zones
from alignment.uncertainty import verdict
from tests.drawings import SVG, faults, named, overlaps, path_points, read, said, words

WORDS = Words("Camber", "told", "inside", "can't tell", "outside", "not measured", "farther")
AREAS = {"inside": "inside", "can't tell": "cannot-tell", "outside": "outside"}
figures = st.floats(-20, 20).map(lambda value: round(value, 4))
spreads = st.just(0.0) | st.floats(0.001, 5)


def degrees(value):
    return f"{value:+.1f}°"


def drawn(
    value, *, expanded=0.33, low=-0.5, high=0.5, value_words="-1.49° ± 0.33°", figure=degrees
):
    return band(
        value,
        expanded=expanded,
        low=low,
        high=high,
        value_words=value_words,
        figure=figure,
        words=WORDS,
    )


def x_of(root, name):
    [found] = named(root, name)
    return path_points(found.get("d"))[0][0]


def areas_at(root, x):
    """Return which areas of the strip lie at an x."""
    return {
        node.get("data-part")
        for node in root.iter(f"{SVG}rect")
        if node.get("data-part") in AREAS.values()
        and float(node.get("x")) - 0.02
        <= x
        <= float(node.get("x")) + float(node.get("width")) + 0.02
    }


@given(value=figures, expanded=spreads, low=figures, wide=st.floats(0.1, 10))
def test_mark_stands_on_the_area_of_its_verdict(value, expanded, low, wide):
    root = read(drawn(value, expanded=expanded, low=low, high=low + wide))
    assume(not named(root, "beyond"))

    x = x_of(root, "value")

    assert AREAS[verdict(value, low, low + wide, expanded)] in areas_at(root, x)


# the sheet's own examples at limits of half a degree
@pytest.mark.parametrize(
    ("value", "expanded", "name"),
    [(-1.49, 0.33, "outside"), (0.30, 0.33, "cannot-tell"), (0.30, 0.18, "inside")],
)
def test_worked_values_stand_on_their_verdict(value, expanded, name):
    root = read(drawn(value, expanded=expanded))

    assert areas_at(root, x_of(root, "value")) == {name}


@given(low=figures, wide=st.floats(0.01, 10), spread=st.floats(0, 20))
def test_zones_cover_every_value_once(low, wide, spread):
    found = zones(low, low + wide, spread)

    assert (found[0][1], found[-1][2]) == (-float("inf"), float("inf"))
    assert all(a[2] == b[1] and a[0] != b[0] for a, b in pairwise(found))


@given(value=figures, expanded=st.floats(0.01, 1))
def test_value_and_its_bar_are_to_scale(value, expanded):
    root = read(drawn(value, expanded=expanded, low=-8, high=8))
    assume(not named(root, "beyond"))

    low, high, x = (x_of(root, name) for name in ("limit low", "limit high", "value"))
    px = (high - low) / 16
    [bar] = named(root, "uncertainty")
    (start, _), (end, _) = path_points(bar.get("d"))[:2]

    assert x == pytest.approx((low + high) / 2 + value * px, abs=0.03)
    assert (start, end) == pytest.approx((x - expanded * px, x + expanded * px), abs=0.05)


@pytest.mark.parametrize(("value", "x_is_low"), [(-15, True), (15, False)])
def test_value_far_outside_is_an_arrow_and_said(value, x_is_low):
    root = read(drawn(value))

    (start_x, _y), (end_x, _end_y) = path_points(named(root, "beyond")[0].get("d"))

    assert (end_x < start_x) is x_is_low
    assert "farther" in said(root)
    assert named(root, "mark") == []


def test_value_within_the_scale_is_not_said_to_be_farther():
    root = read(drawn(-1.49))

    assert named(root, "beyond") == []
    assert said(root) == [
        "-0.5°",
        "+0.5°",
        "+0.0°",
        "-1.49° ± 0.33°",
        "inside",
        "can't tell",
        "outside",
    ]


def test_without_a_value_it_says_so_and_has_no_mark():
    root = read(drawn(None, expanded=None))

    assert "not measured" in said(root)
    assert named(root, "mark") == named(root, "uncertainty") == named(root, "cannot-tell") == []


@given(low=figures, wide=st.floats(0.01, 10), value=figures, spread=st.floats(0, 3))
def test_scale_always_holds_the_limits_and_no_more_than_the_most(low, wide, value, spread):
    high = low + wide

    start, end = shown_between(low, high, [(value - spread, value + spread)])

    assert start < low <= high < end
    assert start >= low - 3 * wide - 1e-9
    assert end <= high + 3 * wide + 1e-9


def test_zero_is_on_the_scale_of_toe_so_that_toe_out_shows():
    start, _end = shown_between(3.175, 6.35, [])

    assert start < 0


@given(
    value=st.none() | figures,
    expanded=st.none() | st.floats(0, 50),
    low=figures,
    wide=st.floats(0, 10),
)
def test_nothing_is_drawn_outside(value, expanded, low, wide):
    svg = drawn(value, expanded=expanded, low=low, high=low + wide)

    assert faults(svg) == []


@given(value=st.none() | figures, expanded=st.floats(0, 5), low=figures, wide=st.floats(0.01, 10))
def test_words_do_not_meet(value, expanded, low, wide):
    long = {
        "figure": lambda value: f"{value:+.1f} mm (0.125 in)",
        "value_words": "+4.8 mm ± 1.7 mm",
    }
    root = read(drawn(value, expanded=expanded, low=low, high=low + wide, **long))

    assert overlaps(root) == []


def test_low_figure_stays_before_the_high_one_where_both_were_moved():
    root = read(
        drawn(0, expanded=2, low=-0.5, high=0.5, figure=lambda value: f"a long {value:+.1f}")
    )

    low, high = [word for word in words(root) if word.words.startswith("a long")][:2]

    assert (low.words[-4:], high.words[-4:]) == ("-0.5", "+0.5")
    assert low.right <= high.left
    middle = (x_of(root, "limit low") + x_of(root, "limit high")) / 2
    assert (low.right + high.left) / 2 == pytest.approx(middle, abs=3)


def test_axis_maps_its_ends_onto_its_ends_and_nothing_beyond():
    axis = Axis(-1, 3, 16, 344)

    assert [axis.px(value) for value in (-9, -1, 0, 3, 9)] == [16, 16, 98, 344, 344]
    assert [axis.holds(value) for value in (-1.1, -1, 3, 3.1)] == [False, True, True, False]


def test_crossed_limits_are_refused():
    with pytest.raises(ValueError, match="low must not be above high, not 1 and 0"):
        drawn(0, low=1, high=0)


def test_words_are_escaped():
    svg = band(
        0,
        expanded=1,
        low=-1,
        high=1,
        value_words="<0>",
        figure=degrees,
        words=replace(WORDS, inside="in & out"),
    )

    assert {"<0>", "in & out"} <= set(said(read(svg)))
