"""Words of a drawing: escaped, broken into lines, kept inside it."""

from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment import ink
from tests.drawings import faults, overlaps, path_points, read, said

anything = st.text(st.characters(exclude_categories=[]))


def drawing(*parts):
    return ink.svg(parts, height=200, title="title", told="told", key="key")


@given(anything)
def test_any_words_make_a_drawing_that_can_be_read(words):
    svg = ink.svg([ink.text((9, 9), words)], height=20, title=words, told=words, key="key")

    root = ElementTree.fromstring(svg)

    told = [child.text or "" for child in root[:2]]
    assert told[0] == told[1] == (said(root)[0] or "")


def test_what_xml_has_no_place_for_is_left_out():
    assert said(read(drawing(ink.text((9, 9), "a\x00b\x1f\ufffe\ud800c<&>")))) == ["abc<&>"]


@given(st.text("ab ", min_size=1), st.integers(20, 300))
def test_lines_hold_every_word_and_none_is_too_wide(words, wide):
    lines = ink.lines_of(words, wide)

    assert "".join(lines).replace(" ", "") == words.replace(" ", "")
    assert all(ink.width_of(one) <= wide for one in lines)


def test_notes_stand_one_under_the_other():
    drawn, bottom = ink.notes(20, ["a note of the drawing " * 4, "another"])

    root = read(drawing(*drawn))

    assert said(root)[-1] == "another"
    assert bottom == 20 + ink.LEADING * len(said(root))
    assert overlaps(root) == []


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
@pytest.mark.parametrize("x", [-50, 0, 180, 360, 500])
def test_words_stay_inside(anchor, x):
    assert faults(drawing(ink.text((x, 50), "some words", anchor=anchor))) == []


def test_words_with_room_stay_where_they_are():
    assert ink.inside(180, 60) == 180


@given(st.lists(st.text("ab", min_size=1, max_size=20), max_size=9))
def test_legend_breaks_into_rows(words):
    drawn, bottom = ink.legend([(14, one, lambda x, y: "") for one in words], 10)

    root = read(drawing(*drawn))

    assert said(root) == words
    assert overlaps(root) == []
    assert bottom >= 10 + ink.LEADING


@given(st.floats(-170, 170), st.floats(1, 100))
def test_arc_ends_on_the_spokes_of_its_angles(deg, radius):
    points = path_points(ink.arc((180, 100), radius, 0, deg))

    assert points[0] == pytest.approx((180, 100 - radius), abs=0.01)
    assert points[1] == pytest.approx(ink.turned(points[0], deg, (180, 100)), abs=0.02)


def test_spoke_counts_clockwise_from_straight_up():
    assert ink.spoke((0, 0), 10, 90) == pytest.approx((10, 0))
    assert ink.turned((0, -10), 90, (0, 0)) == pytest.approx((10, 0))
