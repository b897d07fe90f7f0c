"""A part to turn in words and drawn: by the end that has its right-hand thread."""

from dataclasses import replace

import pytest

from alignment.advice import Rod, Sleeve, Steering
from alignment.part_told import drawn, way_said
from alignment.site_words import Wording
from tests.drawings import named, read, said

ROD = Rod(1.25, is_double=True, arm_mm=114.3, is_ahead=True)
SLEEVE = Sleeve(1.5, is_double=True, knuckle_mm=200)
STEERING = Steering(ROD, SLEEVE)
INCHES, METRIC = Wording("inch", 25.4 / 32), Wording("metric", 1.0)


def with_thread(right_hand, **rod):
    rod = replace(ROD, right_hand=right_hand, **rod)
    return Steering(rod, replace(SLEEVE, right_hand=right_hand))


def told(name, at, flats, steering, wording=METRIC):
    return list(way_said(name, at, flats, steering, wording))


@pytest.mark.parametrize("name", ["toe", "camber left"])
@pytest.mark.parametrize(
    ("right_hand", "flats", "turned"),
    [
        ("wheel", 4, "Turn it clockwise, seen from the wheel: longer"),
        ("wheel", -4, "Turn it anticlockwise, seen from the wheel: shorter"),
        ("middle", 4, "Turn it anticlockwise, seen from the wheel: longer"),
        ("middle", -4, "Turn it clockwise, seen from the wheel: shorter"),
    ],
)
def test_way_to_turn_follows_the_end_that_is_told(name, right_hand, flats, turned):
    lines = told(name, "left", flats, with_thread(right_hand))
    picture = read(drawn(name, "left", flats, "told", with_thread(right_hand)))

    shows = "more" if flats > 0 else "less"
    assert lines[0] == f"{turned}, {shows} thread shows at both ends."
    (arc,) = named(picture, "turn")
    # an arc's sweep flag 1 is clockwise as seen (SVG 2, 9.3.8)
    assert (arc.get("d").split()[5] == "1") is (" clockwise" in lines[0])


@pytest.mark.parametrize("name", ["toe", "camber left"])
def test_no_way_to_turn_is_said_or_drawn_where_the_end_is_not_told(name):
    lines = told(name, "left", 4, STEERING)
    picture = read(drawn(name, "left", 4, "told", STEERING))

    assert lines[:2] == [
        "To get it longer: more thread shows at both ends.",
        "Which end has the right-hand thread is not told, so which way to turn is not either.",
    ]
    assert "clockwise" not in " ".join([*lines, *said(picture)])
    assert [named(picture, one) for one in ("near", "turn", "flat")] == [[], [], []]
    assert "longer" in said(picture)
    assert "more thread shows at both ends" in " ".join(said(picture))
    assert not {"right-hand thread", "left-hand thread"} & set(said(picture))


@pytest.mark.parametrize("right_hand", ["", "wheel", "middle"])
def test_rod_across_is_seen_from_its_right_hand_thread_end(right_hand):
    across = with_thread(right_hand, is_across=True)

    lines, picture = told("toe", "across", 3, across), read(drawn("toe", "across", 3, "", across))

    assert lines[0].startswith("Turn it clockwise, seen from its right-hand-thread end: longer")
    assert "wheel" not in " ".join(lines)
    assert "seen from its" in " ".join(said(picture))


@pytest.mark.parametrize(
    ("is_ahead", "words"),
    [
        (True, "Steering arms ahead of the axle: longer is less toe-in."),
        (False, "Steering arms behind the axle: longer is more toe-in."),
    ],
)
def test_rod_says_what_longer_does_to_toe(is_ahead, words):
    assert words in told("toe", "left", 1, with_thread("wheel", is_ahead=is_ahead))


@pytest.mark.parametrize(
    ("flats", "is_double", "wording", "words"),
    [
        # 6 flats are a turn: a pitch of a single thread, two of a left- and right-hand one
        (6, False, METRIC, "By a rule the rod gets 1.2 mm (3/64 in) longer."),
        (-6, True, METRIC, "By a rule the rod gets 2.5 mm (3/32 in) shorter."),
        (6, True, INCHES, "By a rule the rod gets 3/32 in (2.5 mm) longer."),
        (-66, True, INCHES, "By a rule the rod gets 1 5/64 in (27.5 mm) shorter."),
        (0.5, False, INCHES, "By a rule the rod gets 0 in (0.1 mm) longer."),
    ],
)
def test_rod_says_what_a_rule_shows(flats, is_double, wording, words):
    steering = with_thread("wheel", is_double=is_double)

    assert told("toe", "left", flats, steering, wording)[-1] == words
    assert words not in told("camber left", "left", flats, steering, wording)


def test_nothing_to_turn_says_nothing():
    assert told("toe", "left", 0, STEERING) == told("toe", "left", 4, Steering()) == []
