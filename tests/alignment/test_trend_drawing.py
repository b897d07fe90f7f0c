"""The trend: each reading once, at its day and value, told apart by shape and stroke."""

from collections import Counter
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.trend_drawing import Reading, Series, Words, trend
from tests.drawings import SVG, faults, named, overlaps, path_points, points, read, said

WORDS = Words("Camber", "told", "as found", "as left", "no sheet yet", "farther")
DAY = date(2025, 3, 4)


def degrees(value):
    return f"{value:+.1f}°"


def drawn(*series, low=-0.5, high=0.5):
    return trend(series, low=low, high=high, figure=degrees, words=WORDS)


def reading(days, value, expanded=0.2, is_left=False):
    on = DAY + timedelta(days)
    return Reading(on, value, expanded, is_left, f"{on.day}.{on.month}.{on:%y}")


def marks(root, shape):
    """Return where the marks of a shape stand in the plot, the key's own left out."""
    places = []
    for node in named(root, f"mark {shape}"):
        found = points(node)
        x = (min(x for x, _y in found) + max(x for x, _y in found)) / 2
        y = (min(y for _x, y in found) + max(y for _x, y in found)) / 2
        places.append((x, y))
    return [place for place in places if place[1] < 220]


def limit_y(root, name):
    [found] = named(root, f"limit {name}")
    return path_points(found.get("d"))[0][1]


readings = st.builds(
    reading,
    st.integers(0, 800),
    st.floats(-15, 15),
    st.none() | st.floats(0, 3),
    st.booleans(),
)


@given(values=st.lists(st.floats(-0.9, 0.9), min_size=1, max_size=8))
def test_values_are_to_scale_in_their_order(values):
    one = Series("left", [reading(30 * place, value) for place, value in enumerate(values)])
    root = read(drawn(one))

    found = marks(root, "circle")
    low, high = limit_y(root, "low"), limit_y(root, "high")

    expected = [(low + high) / 2 + value * (high - low) for value in values]
    assert [y for _x, y in found] == pytest.approx(expected, abs=0.05)
    assert [x for x, _y in found] == sorted(x for x, _y in found)


def test_days_are_to_scale():
    root = read(drawn(Series("", [reading(0, 0), reading(100, 0), reading(400, 0)])))

    (first, _), (second, _), (last, _) = marks(root, "circle")

    assert (second - first) / (last - first) == pytest.approx(0.25, abs=0.01)


def test_uncertainty_bar_is_to_scale():
    root = read(drawn(Series("", [reading(0, 0.1, 0.25)])))

    [bar] = named(root, "uncertainty")
    ys = [y for _x, y in path_points(bar.get("d"))]
    px_a_degree = limit_y(root, "low") - limit_y(root, "high")

    assert max(ys) - min(ys) == pytest.approx(0.5 * px_a_degree, abs=0.05)


def test_found_and_left_and_each_series_have_their_own_mark_and_stroke():
    both = [reading(0, -1.2), reading(0, 0.1, is_left=True), reading(90, 0.2)]
    root = read(drawn(Series("left", both), Series("right", both), Series("third", both)))

    counts = {
        shape: len(marks(root, shape))
        for shape in ("circle", "square", "triangle", "diamond", "cross", "plus")
    }
    strokes = [node.get("stroke-dasharray") for node in named(root, "joined")]

    assert counts == {
        "circle": 2,
        "square": 1,
        "triangle": 2,
        "diamond": 1,
        "cross": 2,
        "plus": 1,
    }
    assert strokes == [None, "6 3", "2 3"]


def test_readings_of_several_carts_are_not_joined():
    both = [reading(0, -1.2), reading(90, 0.2)]

    root = read(drawn(Series("left", both, is_joined=False), Series("right", both)))

    assert [node.get("stroke-dasharray") for node in named(root, "joined")] == ["6 3"]
    assert len(marks(root, "circle")) == 2


def test_key_names_the_marks_that_are_there():
    root = read(
        drawn(
            Series("left", [reading(0, -1.2), reading(0, 0.1, is_left=True)]),
            Series("right", [reading(0, 0.3)]),
        )
    )

    assert said(root)[-3:] == ["left, as found", "left, as left", "right, as found"]


def test_readings_of_one_day_stand_beside_each_other():
    same_day = [reading(0, 0.1), reading(0, 0.1, is_left=True)]
    root = read(drawn(Series("left", same_day), Series("right", same_day)))

    xs = sorted(marks(root, shape)[0][0] for shape in ("circle", "square", "triangle", "diamond"))

    assert all(right - left > 4 for left, right in pairwise(xs))


# toe-in of 1/8 to 1/4 in at 22 in, and a toe-out
def test_value_within_a_readable_scale_is_drawn_and_no_arrow():
    root = read(drawn(Series("", [reading(0, -0.76, 0.09)]), low=0.326, high=0.651))

    assert len(marks(root, "circle")) == 1
    assert "farther" not in said(root)


@given(values=st.lists(st.floats(-90, 90), max_size=6))
def test_band_stays_readable_however_far_values_lie(values):
    root = read(drawn(Series("", [reading(30 * n, value) for n, value in enumerate(values)])))

    assert limit_y(root, "low") - limit_y(root, "high") >= 20 - 0.05


def test_value_far_outside_is_an_arrow_and_said():
    root = read(drawn(Series("", [reading(0, 0.1), reading(40, 15)])))

    assert len(marks(root, "circle")) == 1
    assert said(root)[-1] == "farther"


def test_days_are_written_first_and_last_and_what_has_room():
    root = read(drawn(Series("", [reading(7 * place, 0) for place in range(40)])))

    written = [one for one in said(root) if one.count(".") == 2]

    assert written[:2] == ["4.3.25", "2.12.25"]
    assert 3 <= len(written) <= 6
    assert overlaps(root) == []


def test_without_a_reading_it_says_so():
    assert "no sheet yet" in said(read(drawn()))
    assert faults(drawn(Series("left", []))) == []


def test_limits_are_written_on_the_scale():
    root = read(drawn(Series("", [reading(0, -1.49)])))

    assert Counter(said(root))["-0.5°"] == Counter(said(root))["+0.5°"] == 1


@settings(max_examples=60)
@given(
    series=st.lists(
        st.builds(Series, st.text(max_size=12), st.lists(readings, max_size=20)), max_size=3
    ),
    low=st.floats(-5, 5),
    wide=st.floats(0, 10),
)
def test_nothing_is_drawn_outside_and_no_words_meet(series, low, wide):
    svg = drawn(*series, low=low, high=low + wide)

    assert faults(svg) == []
    assert overlaps(read(svg)) == []


@settings(max_examples=10)
@given(st.lists(st.floats(-2, 2), min_size=60, max_size=60))
def test_sixty_readings_are_all_there(values):
    half = [
        reading(14 * place, value, is_left=place % 2 == 1) for place, value in enumerate(values)
    ]
    root = read(drawn(Series("left", half[:30]), Series("right", half[30:]), low=-1, high=1))

    shown = [marks(root, shape) for shape in ("circle", "square", "triangle", "diamond")]

    assert sum(map(len, shown)) == 60


def test_fourth_series_and_crossed_limits_are_refused():
    with pytest.raises(ValueError, match="series must be three at most, not 4"):
        drawn(*[Series("", [])] * 4)
    with pytest.raises(ValueError, match="low must not be above high, not 1 and 0"):
        drawn(low=1, high=0)


def test_words_are_escaped():
    root = read(drawn(Series("<left> & \x01", [reading(0, 0)])))

    assert "<left> & , as found" in said(root)
    assert [node.text for node in root.iter(f"{SVG}title")] == ["Camber"]
