"""The sheet on paper: room for each reading of each pass, and what is to be known beside it."""

from decimal import Decimal

import pytest

from alignment.parts import CamberToePart
from tests.alignment_factories import NOON, a_visit
from tests.factories import PersonFactory
from tests.spec_factories import a_spec

pytestmark = pytest.mark.django_db


@pytest.fixture
def lines():
    def of(visit):
        return {str(line.label): line for line in CamberToePart().form(visit).on_paper()}

    return of


@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_each_pass_has_three_pairs_of_camber_a_wheel_and_five_of_toe(lines, n):
    printed = lines(a_visit())

    for side in ("left", "right"):
        rooms = printed[f"{n}: camber {side}"].rooms
        assert [room.split(",")[0] for room in rooms] == [
            f"{end} {k}" for k in (1, 2, 3) for end in ("top", "bottom")
        ]
        assert [("½" in room) for room in rooms] == [False, False, False, True, False, True]
    for end in ("front", "rear"):
        assert printed[f"{n}: toe, {end}"].rooms == ("1", "2", "3", "4", "5")


def test_a_later_pass_begins_with_what_was_turned_and_how_far(lines):
    turned = lines(a_visit())["Pass 2: turned"]

    assert turned.choices == ("sleeve", "tie rods", "driven")
    assert turned.rooms == ("left: flats, longer / shorter", "right: flats, longer / shorter")


def test_signs_and_the_limits_of_the_cart_are_printed(lines):
    printed = lines(a_visit())

    assert "minus = top leans in" in printed["Signs"].text
    assert "plus = toe-in (front closer)" in printed["Signs"].text
    assert printed["Limits"].text.startswith(
        "camber −0.50° to +0.50°; left less right up to 0.50°; toe-in 0.125 to 0.250 in. From: "
    )


def test_limits_of_the_kit_are_printed_where_they_are_told(lines):
    visit = a_visit()
    told = {"camber_low_deg": Decimal(-1)}
    a_spec(visit.site, PersonFactory(), NOON, kit_code="", done_at=NOON, **told)

    printed = lines(visit)["Limits"].text

    assert printed.startswith("camber −1.00° to +0.50°; ")
    assert "HX-4 sheet, edition B" in printed


@pytest.mark.parametrize(("units", "unit"), [("inch", "psi"), ("metric", "kPa")])
def test_pressures_have_their_rooms_and_unit(lines, units, unit):
    tyres = lines(a_visit(units=units))[f"Tyres, cold ({unit})"]

    assert tyres.rooms == ("set to", "left", "right")


def test_what_ends_the_work_can_be_ticked(lines):
    printed = lines(a_visit())

    assert "Test drive done" in [str(label) for label in printed["At the end"].choices]
    assert printed["Note"].is_open
