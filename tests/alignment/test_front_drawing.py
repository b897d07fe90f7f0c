"""The front view: each wheel leans as measured, left and right as seen from the front."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from alignment.front_drawing import MOST_DRAWN_DEG, Words, fitting_times, front_view
from tests.drawings import (
    BOX,
    SVG,
    faults,
    foot_of,
    from_upright_deg,
    mirrored,
    named,
    overlaps,
    path_points,
    points,
    read,
    said,
    size,
    top_of,
    turn_of,
    turned,
    unmatched,
)

WORDS = Words(
    "Front wheels",
    "told",
    "left",
    "right",
    "not measured",
    "angles drawn {} times".format,
    sleeve="camber sleeve",
    rod="tie rod",
    notes=["tyre width assumed: 215 mm"],
)
angles = st.none() | st.floats(-15, 15)
shapes = st.fixed_dictionaries(
    {},
    optional={
        "track_mm": st.floats(600, 1400),
        "tyre_mm": st.floats(300, 800),
        "times": st.integers(1, 20),
        "has_sleeve": st.booleans(),
        "is_across": st.booleans(),
        "floor": st.none()
        | st.tuples(st.floats(0, 60), st.floats(600, 2000), st.sampled_from(["left", "right"])),
    },
)


def wheel(root, name):
    [found] = named(root, f"wheel {name}")
    return found


def from_middle(root, point):
    return abs(point[0] - size(root)[0] / 2)


def test_left_wheel_stands_at_the_viewers_right():
    root = read(front_view(-1.49, 0.30, words=WORDS))

    left, right = (turn_of(wheel(root, name))[1] for name in ("left", "right"))
    names = {node.text: float(node.get("x")) for node in root.iter(f"{SVG}text")}

    assert left[0] > 180 > right[0]
    assert (names["left"], names["right"]) == pytest.approx((left[0], right[0]), abs=0.1)
    assert names["−1.49°"] > 180 > names["+0.30°"]


# SAE J670 / ISO 8855: minus camber has the top of the wheel leaning in
@pytest.mark.parametrize(("camber", "top_is_nearer"), [(-1.0, True), (1.0, False)])
@pytest.mark.parametrize("name", ["left", "right"])
def test_minus_camber_has_the_top_nearer_the_middle(camber, top_is_nearer, name):
    root = read(front_view(camber, camber, words=WORDS, times=5))

    top, foot = top_of(wheel(root, name)), foot_of(wheel(root, name))

    assert (from_middle(root, top) < from_middle(root, foot)) is top_is_nearer


@given(left=st.floats(-15, 15), right=st.floats(-15, 15), shape=shapes)
def test_wheels_and_centre_lines_lean_by_camber_times_what_is_said(left, right, shape):
    root = read(front_view(left, right, words=WORDS, **shape))

    [times] = [int(one.split()[2]) for one in said(root) if one.startswith("angles drawn")]
    turns = [turn_of(wheel(root, name))[0] for name in ("left", "right")]
    lines = [path_points(node.get("d")) for node in named(root, "centre-line")]

    assert turns == pytest.approx([left * times, -right * times], abs=1e-3)
    leans = [from_upright_deg(foot, top) for top, foot in lines]
    assert leans == pytest.approx(turns, abs=0.02)


def test_plain_drawing_shows_the_true_angle():
    root = read(front_view(-1.49, 0.30, words=WORDS))

    assert turn_of(wheel(root, "left"))[0] == pytest.approx(-1.49)
    assert turn_of(wheel(root, "right"))[0] == pytest.approx(-0.30)


def test_track_and_tyre_are_to_one_scale():
    root = read(front_view(0, 0, words=WORDS, track_mm=900, tyre_mm=600))

    apart = turn_of(wheel(root, "left"))[1][0] - turn_of(wheel(root, "right"))[1][0]
    high = float(wheel(root, "left").find(f"{SVG}rect").get("height"))

    assert apart / high == pytest.approx(900 / 600, abs=1e-3)


@given(left=angles, right=angles, shape=shapes)
def test_nothing_is_drawn_outside(left, right, shape):
    svg = front_view(left, right, words=WORDS, **shape)

    assert faults(svg) == []


def lowest(tyre):
    """Return the y of the lowest point of a tyre with round shoulders, from its seen points."""
    deg, about = turn_of(tyre)
    box = tyre.find(f"{SVG}rect")
    x, y, wide, high, radius = (float(box.get(name)) for name in BOX)
    centres = [(x + a, y + b) for a in (radius, wide - radius) for b in (radius, high - radius)]
    return max(turned(centre, deg, about)[1] for centre in centres) + radius


@given(left=angles, right=angles, shape=shapes)
def test_both_tyres_touch_the_ground_where_the_plumb_lines_end(left, right, shape):
    root = read(front_view(left, right, words=WORDS, **shape))

    feet = [lowest(wheel(root, name)) for name in ("left", "right")]
    ends = [path_points(node.get("d"))[1][1] for node in named(root, "plumb")]

    assert feet == pytest.approx([feet[0]] * 2, abs=0.03)
    assert ends == pytest.approx([feet[0]] * len(ends), abs=0.03)


@pytest.mark.parametrize("times", [1, 10])
@pytest.mark.parametrize(
    ("left", "right"), [(-1.49, 0.30), (0, 0), (2.4, -3), (None, 0.5), (None, None)]
)
@pytest.mark.parametrize("track_mm", [760, 890, 1100])
@pytest.mark.parametrize("axle", [{}, {"has_sleeve": False, "is_across": True}])
def test_words_do_not_meet_for_ordinary_values(left, right, times, track_mm, axle):
    svg = front_view(left, right, words=WORDS, track_mm=track_mm, times=times, **axle)

    assert overlaps(read(svg)) == []


def test_words_of_the_plain_drawing():
    assert said(read(front_view(-1.49, None, words=WORDS))) == [
        "camber sleeve",
        "tie rod",
        "left",
        "−1.49°",
        "right",
        "not measured",
        "angles drawn 1 times",
        "tyre width assumed: 215 mm",
    ]


def test_wheel_without_camber_is_dashed_and_has_no_angle():
    root = read(front_view(None, 0.3, words=WORDS))

    dashes = {
        name: wheel(root, name).find(f"{SVG}rect").get("stroke-dasharray")
        for name in ("left", "right")
    }

    assert dashes == {"left": "5 4", "right": None}
    assert len(named(root, "centre-line")) == len(named(root, "angle")) == 1


def test_with_nothing_measured_no_enlargement_is_told():
    root = read(front_view(None, None, words=WORDS, times=10))

    assert [one for one in said(root) if one.startswith("angles")] == []


def test_cart_without_camber_sleeves_has_none_drawn():
    assert len(named(read(front_view(0, 0, words=WORDS)), "sleeve")) == 2

    root = read(front_view(0, 0, words=WORDS, has_sleeve=False))

    assert named(root, "sleeve") == []
    assert "camber sleeve" not in said(root)


@pytest.mark.parametrize(
    ("shape", "parts"),
    [
        ({}, (0, 0, 4)),
        ({"is_across": True}, (0, 0, 4)),
        ({"has_sleeve": False}, (0, 0, 4)),
        ({"has_sleeve": False, "is_across": True}, (1, 2, 0)),
    ],
    ids=["sleeves", "sleeves and a rod across", "no sleeves", "drop axle"],
)
def test_a_beam_axle_is_one_rod_across_and_no_sleeves(shape, parts):
    root = read(front_view(-1.2, 0.3, words=WORDS, **shape))

    assert tuple(len(named(root, name)) for name in ("beam", "king-pin", "arm")) == parts


def test_king_pins_lean_with_their_wheels():
    root = read(front_view(-1.2, 0.3, words=WORDS, times=10, has_sleeve=False, is_across=True))

    leans = [turn_of(pin)[0] for pin in named(root, "king-pin")]

    assert leans == pytest.approx([-12, -3])
    assert "tie rod" in said(root)


@pytest.mark.parametrize(("low_side", "falls_to_the_right"), [("left", True), ("right", False)])
def test_floor_falls_to_its_low_side_by_its_slope(low_side, falls_to_the_right):
    # 1/4 in over 36 in is 0.398 degree
    root = read(front_view(0, 0, words=WORDS, times=10, floor=(6.35, 914.4, low_side)))

    [floor] = named(root, "floor")
    ends = sorted(path_points(floor.get("d")))

    lean = 90 - from_upright_deg(*ends)
    assert lean == pytest.approx(-3.98 if falls_to_the_right else 3.98, abs=0.02)
    assert len(named(root, "plate")) == 2


@settings(max_examples=30)
@given(left=angles, right=angles, shape=shapes)
def test_swapping_left_and_right_mirrors_the_drawing(left, right, shape):
    swapped = {**shape}
    if shape.get("floor"):
        fall, over, side = shape["floor"]
        swapped["floor"] = fall, over, {"left": "right", "right": "left"}[side]

    one = read(front_view(left, right, words=WORDS, **shape))
    other = read(front_view(right, left, words=WORDS, **swapped))

    drawn, like = (points(root, without=["ground"]) for root in (one, other))
    assert unmatched(mirrored(drawn), like) == []


@given(angle=st.floats(-90, 90), times=st.integers(1, 50))
def test_fitting_times_is_as_asked_or_the_most_that_fits(angle, times):
    fitted = fitting_times([angle, None], times)

    assert 1 <= fitted <= times
    if fitted < times:
        assert abs(angle) * (fitted + 1) > MOST_DRAWN_DEG - 1e-9
    if fitted > 1:
        assert abs(angle) * fitted <= MOST_DRAWN_DEG + 1e-9


@given(st.text(max_size=20), st.text(max_size=20))
def test_words_are_escaped_and_kept(left, note):
    svg = front_view(0, 0, words=replace(WORDS, left=left, notes=[f"<b>&{note}"]), key='a"b')

    root = read(svg)

    assert root.get("aria-labelledby") == 'a"b-title a"b-told'
    assert any(one and one.startswith("<b>&") for one in said(root))
