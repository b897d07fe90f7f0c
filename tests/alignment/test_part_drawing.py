"""The part to turn: the way to turn follows from a right-hand thread, flats are counted."""

from dataclasses import replace
from math import pi, sin, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment.part_drawing import HEX_RADIUS, Words, rod_drawing, sleeve_drawing
from tests.drawings import SVG, faults, named, overlaps, path_points, read, said, words

WORDS = Words(
    "Tie rod",
    "told",
    "longer",
    "shorter",
    "4 flats longer",
    "seen from the ball end: clockwise",
    thread="right-hand thread",
    other_thread="left-hand thread",
    jam_nut="jam nut",
    notes=["Loosen the jam nuts first."],
)
both = pytest.mark.parametrize("drawing", [rod_drawing, sleeve_drawing])


def area(corners):
    """Return an area, plus where its corners go clockwise as seen."""
    following = [*corners[1:], corners[0]]
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(corners, following, strict=True)) / 2


WHOLE_FLAT = sqrt(3) / 4 * HEX_RADIUS**2


def cross(a, b):
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def way_of_near_face(flats, right_hand="wheel"):
    """Return +1 where the near face of a part must move up for ``flats``, by the thread alone.

    x right, y away from the viewer, z up. The part lies at the left of its outer end, at the
    right of its inner one; a body with a right-hand thread moves along its axis of turning, so
    it turns about -x to leave the outer end, about +x to leave the inner one.
    """
    off = -1 if right_hand == "wheel" else 1
    about = (off if flats > 0 else -off, 0, 0)
    near_face = (0, -1, 0)
    return cross(about, near_face)[2]


@both
@pytest.mark.parametrize("flats", [4, -4, 0.5, -11])
@pytest.mark.parametrize("is_double", [True, False])
@pytest.mark.parametrize("right_hand", ["wheel", "middle"])
def test_near_face_moves_as_the_thread_asks(drawing, flats, is_double, right_hand):
    root = read(drawing(flats, is_double=is_double, words=WORDS, right_hand=right_hand))

    [near] = named(root, "near")
    (_x, start_y), (_end_x, end_y) = path_points(near.get("d"))

    assert (start_y - end_y) * way_of_near_face(flats, right_hand) > 30


@both
@pytest.mark.parametrize(("flats", "sweep"), [(2, "1"), (-2, "0")])
def test_seen_from_the_outer_end_clockwise_is_longer(drawing, flats, sweep):
    root = read(drawing(flats, is_double=False, words=WORDS))

    [turn] = named(root, "turn")

    # an arc's sweep flag 1 is clockwise as seen (SVG 2, 9.3.8)
    assert turn.get("d").split()[5] == sweep


def near_side(hand):
    """Return two points, x and y down, of a helix along x where it is nearest to the viewer.

    x right, y away, z up is right-handed, so a right-hand helix (x = t) is at y = cos t,
    z = sin t; it is nearest at t = pi.
    """
    return [(t, -hand * sin(t)) for t in (pi - 0.1, pi + 0.1)]


def falls(line):
    (start_x, start_y), (end_x, end_y) = line
    return (end_x - start_x) * (end_y - start_y) > 0


def test_threads_lean_as_the_near_side_of_a_helix():
    root = read(rod_drawing(1, is_double=True, words=WORDS))

    for name, hand in (("right-hand", 1), ("left-hand", -1)):
        lines = [path_points(node.get("d")) for node in named(root, f"thread {name}")]
        assert {falls(line) for line in lines} == {falls(near_side(hand))}


def middle_of(root, name):
    xs = [x for node in named(root, f"thread {name}") for x, _y in path_points(node.get("d"))]
    return sum(xs) / len(xs)


@both
@pytest.mark.parametrize(("right_hand", "is_outer"), [("wheel", True), ("middle", False)])
def test_threads_and_their_names_are_at_the_end_that_is_told(drawing, right_hand, is_outer):
    root = read(drawing(1, is_double=True, words=WORDS, right_hand=right_hand))
    single = read(drawing(1, is_double=False, words=WORDS, right_hand=right_hand))

    outer, inner = ("right-hand", "left-hand") if is_outer else ("left-hand", "right-hand")
    assert middle_of(root, outer) > 200 > middle_of(root, inner)
    at = {one.words: one.left for one in words(root)}
    assert at[f"{outer} thread"] > 150 > at[f"{inner} thread"]
    assert (middle_of(single, "right-hand") > 200) is is_outer
    assert named(single, "thread left-hand") == []


@both
def test_neither_arrow_nor_hand_is_drawn_where_the_end_is_not_told(drawing):
    root = read(drawing(4, is_double=True, words=WORDS, right_hand=""))

    drawn = ("near", "far", "turn", "flat", "thread right-hand", "thread left-hand")
    assert [named(root, name) for name in drawn] == [[]] * 6
    leans = {
        path_points(node.get("d"))[0][0] - path_points(node.get("d"))[1][0]
        for node in named(root, "thread untold")
    }
    assert leans == {0}
    assert not {"right-hand thread", "left-hand thread"} & set(said(root))
    assert "longer" in said(root)


@both
@pytest.mark.parametrize(("is_double", "threads"), [(True, 2), (False, 1)])
def test_single_part_has_no_left_hand_thread(drawing, is_double, threads):
    root = read(drawing(4, is_double=is_double, words=WORDS))

    assert (len(named(root, "thread left-hand")) > 0) is is_double
    assert said(root).count("jam nut") == threads
    assert ("left-hand thread" in said(root)) is is_double
    assert "right-hand thread" in said(root)


@both
@given(halves=st.integers(-12, 12))
def test_flats_are_hatched_and_counted_from_the_mark(drawing, halves):
    flats = halves / 2
    root = read(drawing(flats, is_double=False, words=WORDS))

    drawn = [area(path_points(node.get("d"))) for node in named(root, "flat")]
    counts = [one for one in said(root) if one.isdigit() or one == "½"]

    assert sum(drawn) == pytest.approx(flats * WHOLE_FLAT, abs=1)
    whole = [str(number + 1) for number in range(int(abs(flats)))]
    assert counts == whole + ["½"] * (halves % 2)
    assert {node.get("fill") for node in named(root, "flat")} <= {
        "url(#rod-hatch)",
        "url(#sleeve-hatch)",
    }


@pytest.mark.parametrize(
    ("flats", "hatched", "rings"), [(6, 6, 0), (8, 2, 1), (12, 6, 1), (-40, 4, 1)]
)
def test_whole_turns_are_a_ring_and_the_rest_is_counted(flats, hatched, rings):
    root = read(rod_drawing(flats, is_double=True, words=WORDS))

    found = [node for node in root.iter(f"{SVG}circle") if float(node.get("r")) > HEX_RADIUS]

    assert len(named(root, "flat")) == hatched
    assert len(found) == rings


@both
@pytest.mark.parametrize(("flats", "way"), [(3, "longer"), (-3, "shorter")])
def test_the_way_is_said_once_between_arrows(drawing, flats, way):
    root = read(drawing(flats, is_double=True, words=WORDS))

    assert [one for one in said(root) if one in ("longer", "shorter")] == [way]


@both
@pytest.mark.parametrize("flats", [0, None])
def test_nothing_to_turn_draws_no_arrow(drawing, flats):
    root = read(drawing(flats, is_double=True, words=replace(WORDS, turn="nothing to turn")))

    assert [named(root, name) for name in ("near", "turn", "flat")] == [[], [], []]
    assert "nothing to turn" in said(root)
    assert not {"longer", "shorter"} & set(said(root))


@both
@given(
    flats=st.none() | st.floats(-1000, 1000),
    is_double=st.booleans(),
    right_hand=st.sampled_from(["wheel", "middle", ""]),
)
def test_nothing_is_drawn_outside(drawing, flats, is_double, right_hand):
    svg = drawing(flats, is_double=is_double, words=WORDS, right_hand=right_hand)
    assert faults(svg) == []


@both
@pytest.mark.parametrize("flats", [1, -2.5, 8, None])
@pytest.mark.parametrize("is_double", [True, False])
@pytest.mark.parametrize("right_hand", ["wheel", "middle", ""])
def test_words_do_not_meet(drawing, flats, is_double, right_hand):
    turn = replace(WORDS, whole_turns="1 turn and 2 flats, then drive and read again")
    root = read(drawing(flats, is_double=is_double, words=turn, right_hand=right_hand))

    assert overlaps(root) == []


def test_long_words_go_below_and_the_drawing_grows():
    long = replace(WORDS, seen_from="as seen " * 30)

    root = read(rod_drawing(1, is_double=True, words=long))

    assert faults(rod_drawing(1, is_double=True, words=long)) == []
    lowest = max(word.bottom for word in words(root))
    assert "Loosen" in max(words(root), key=lambda word: word.bottom).words
    assert lowest > 400


def test_words_are_escaped():
    root = read(rod_drawing(1, is_double=False, words=replace(WORDS, turn="<b>&amp;")))

    assert "<b>&amp;" in said(root)
