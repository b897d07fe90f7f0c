"""What no page of ours sends: refused with words, and nothing that was typed is dropped."""

import pytest

from alignment.parts import CamberToePart
from tests.alignment_factories import SLEEVE_TURNED, a_visit, typed

pytestmark = pytest.mark.django_db
TURNED = {name: text for name, text in SLEEVE_TURNED.items() if not name.endswith(("turn", "way"))}
ROD = {**TURNED, "p2_step": "rod"}


def form_of(**fields):
    return CamberToePart().form(a_visit(), typed(**fields))


def at(side, flats="4"):
    return {f"p2_{side}_turn": flats, f"p2_{side}_way": "longer"}


@pytest.mark.parametrize("passes", ["0", "-1", "abc", "٣", "", "9" * 5000])
def test_a_count_of_passes_that_is_none_is_one_pass(passes):
    assert form_of(passes=passes).pass_count == 1


@pytest.mark.parametrize("step", ["sleeve", "rod", "drive"])
def test_the_first_pass_is_as_found(step):
    assert "p1_step" in form_of(p1_step=step).errors


@pytest.mark.parametrize("step", ["", "found", "drive"])
def test_a_turn_without_its_step_is_not_dropped(step):
    form = form_of(**TURNED | at("left") | {"p2_step": step})

    assert "p2_left_turn" in form.errors


def test_a_camber_sleeve_lies_on_a_side():
    assert "p2_across_turn" in form_of(**TURNED | at("across")).errors


def test_a_rod_across_stands_for_both_sides():
    assert "p2_across_turn" in form_of(**ROD | at("across") | at("right")).errors
    assert form_of(**ROD | at("across")).errors == {}
    assert form_of(**ROD | at("left") | at("right")).errors == {}
