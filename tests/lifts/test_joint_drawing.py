"""The joint map's drawing: every joint once, no two marks over each other, sides as from below."""

import re
from collections import Counter
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.joint_drawing import (
    BLANK,
    CELL_HEIGHT,
    CELL_WIDTH,
    FIRM,
    NEVER,
    Mark,
    Words,
    drawing,
    key_drawing,
    laid_out,
)
from lifts.joint_places import HEIGHT, MIDDLE, WIDTH, place_of
from lifts.kit_lines import FAMILIES, WHEELS, read_joints
from lifts.models import Look
from lifts.usual_joints import USUAL_JOINTS

WORDS = Words("Map & title", "told", "cart’s left", "cart’s right", "front", "rear", "Elsewhere:")
NAMES = ["tie-rod end", "king pin nut", "shocks", "left shackle", "U-bolts", "canopy strut", "é|x"]
joints = st.tuples(
    st.sampled_from(FAMILIES),
    st.sampled_from(WHEELS),
    st.sampled_from(NAMES) | st.text(max_size=54),
)
lists = st.lists(joints, max_size=40) | st.tuples(joints, st.integers(0, 40)).map(
    lambda one: [one[0]] * one[1]
)


def usual():
    return read_joints(USUAL_JOINTS, "N.m")


def named(name):
    [joint] = [joint for joint in usual() if joint["name"] == name]
    return place_of(joint["family"], joint["wheel"], name)


@given(lists)
def test_no_two_marks_overlap_for_any_list_of_40(kit):
    cells = laid_out([place_of(*joint) for joint in kit])

    assert len(cells) == len(kit)
    for (x1, y1), (x2, y2) in combinations(cells, 2):
        assert abs(x1 - x2) >= CELL_WIDTH or abs(y1 - y2) >= CELL_HEIGHT
    for x, y in cells:
        assert CELL_WIDTH // 2 <= x <= WIDTH - CELL_WIDTH // 2
        assert y >= CELL_HEIGHT


@given(lists)
def test_every_joint_is_drawn_exactly_once(kit):
    marks = [Mark(n, FIRM, place_of(*joint)) for n, joint in enumerate(kit, start=1)]

    svg = drawing(marks, WORDS)

    groups = re.findall(r'<g class="map-mark">.*?</g>', svg)
    numbers = [re.search(r">(\d+)</text>", group)[1] for group in groups]
    assert Counter(numbers) == Counter(str(mark.number) for mark in marks)
    [view] = re.findall(r'viewBox="0 0 (\d+) (\d+)"', svg)
    lowest = max((y for _x, y in laid_out([mark.at for mark in marks])), default=0)
    assert int(view[1]) >= lowest + CELL_HEIGHT // 2


@given(joints)
def test_a_place_is_on_the_drawing(joint):
    place = place_of(*joint)

    assert place is None or (0 <= place[0] <= WIDTH and 0 <= place[1] <= HEIGHT)


def test_a_full_drawing_sends_the_rest_to_the_strip():
    cells = laid_out([(MIDDLE, 100)] * 260)

    assert len(set(cells)) == 260
    assert sum(y > HEIGHT for _x, y in cells) == 260 - 9 * 23


def test_the_left_of_the_cart_is_at_the_right_hand_seen_from_below():
    left, right = named("left front lugs"), named("right front lugs")

    assert left[0] - MIDDLE == MIDDLE - right[0] > 0
    assert left[1] == right[1] < named("left rear lugs")[1]
    svg = drawing([], WORDS)
    assert re.search(r'<text x="394"[^>]*text-anchor="end"[^>]*>cart’s left<', svg)
    assert re.search(r'<text x="2"[^>]*text-anchor="start"[^>]*>cart’s right<', svg)


def test_the_usual_joints_all_have_their_place_and_keep_their_side():
    places = {joint["name"]: named(joint["name"]) for joint in usual()}

    assert None not in places.values()
    for name, (x, _y) in places.items():
        side = 1 if name.startswith("left") else -1 if name.startswith("right") else 0
        assert (x > MIDDLE) - (x < MIDDLE) == side or not side


@pytest.mark.parametrize(
    ("family", "wheel", "name"),
    [
        ("other-joints", "", "canopy strut"),
        ("other-joints", "", "left canopy strut"),
        ("other-joints", "", "shocks"),
        ("u-bolts", "", "U-bolts"),
    ],
)
def test_what_nothing_places_goes_to_the_strip(family, wheel, name):
    place = place_of(family, wheel, name)

    assert place is None
    [(_x, y)] = laid_out([place])
    assert y > HEIGHT
    assert "Elsewhere:" in drawing([Mark(1, NEVER, place)], WORDS)
    assert "Elsewhere:" not in drawing([Mark(1, NEVER, (MIDDLE, 90))], WORDS)


@pytest.mark.parametrize(
    ("about", "place"),
    [
        (("other-joints", "", "left rear shocks"), (MIDDLE + 52, 470)),
        (("other-joints", "left front", "right rear shocks"), (MIDDLE + 52, 70)),
        (("other-joints", "right rear", "skid plate"), (MIDDLE - 110, 400)),
        (("steering-joints", "", "steering rack to frame"), (MIDDLE, 210)),
    ],
)
def test_the_wheel_tells_the_place_before_the_name(about, place):
    assert place_of(*about) == place


def test_each_state_has_a_shape_of_its_own():
    states = [*Look.Found.values, NEVER, BLANK]

    assert len({key_drawing(state) for state in states}) == len(states)


def test_the_drawing_names_itself_and_asks_for_no_style():
    svg = drawing([Mark(1, FIRM, (MIDDLE, 90))], WORDS)

    assert '<title id="map-title">Map &amp; title</title>' in svg
    assert 'role="img" aria-labelledby="map-title map-told"' in svg
    assert "style" not in svg
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg)) <= {
        *("currentColor", "none", "#fff", "url(#map-took-up)", "url(#map-slack)")
    }
