from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from alignment import order
from alignment.order import Slip, slips
from alignment.readings import ROD, SLEEVE, Camber, Sheet, Toe, Turn
from tests.alignment.test_judging import MIRROR, mirrored, sheets

MARK_MM = 25.4 / 32


def cambers(pass_no=1, left=0.0, right=0.0):
    read = (("left", left), ("right", right))
    return [Camber(side, pass_no, gauge_deg=deg) for side, deg in read if deg is not None]


def toe(pass_no=1, toe_mm=4.8):
    return [Toe(911.0, 911.0 + toe_mm, pass_no)]


def sleeve(pass_no, *sides):
    return [Turn(SLEEVE, side, pass_no, 2) for side in sides or ("left", "right")]


def rods(pass_no):
    return [Turn(ROD, side, pass_no, 4) for side in ("left", "right")]


def a_sheet(*lines, drive_pass=None):
    lines = [one for group in lines for one in group]
    kinds = {Camber: "cambers", Toe: "toes", Turn: "turns"}
    parted = {name: [one for one in lines if isinstance(one, kind)] for kind, name in kinds.items()}
    return Sheet(MARK_MM, drive_pass=drive_pass, **parted)


def found(*lines, adjusts="sleeve", passes=None, drive_pass=None):
    sheet = a_sheet(*lines, drive_pass=drive_pass)
    return [
        (slip.code, slip.pass_no, slip.side)
        for slip in slips(sheet, camber_adjusts=adjusts, passes=passes)
    ]


WHOLE = (
    cambers(1, left=-1.5),
    sleeve(2, "left"),
    cambers(2, right=None),
    toe(2, 12.7),
    rods(3),
    toe(3),
    cambers(4),
    toe(4),
)


def test_the_whole_job_in_order_has_no_slip():
    assert found(*WHOLE, drive_pass=4) == []


@pytest.mark.parametrize(
    "lines",
    [
        (),
        (cambers(),),
        (cambers(), toe()),
        (cambers(left=-1.5), toe()),
        (cambers(), toe(), rods(2), toe(2)),
        (cambers(), toe(), cambers(2), toe(2)),
        (cambers(left=-1.5), sleeve(2, "left"), cambers(2, right=None), toe(2)),
    ],
)
def test_what_is_not_out_of_order(lines):
    assert found(*lines) == []


@pytest.mark.parametrize(
    ("lines", "slipped"),
    [
        ((toe(),), [("toe-before-camber", 1, "left"), ("toe-before-camber", 1, "right")]),
        ((cambers(right=None), toe()), [("toe-before-camber", 1, "right")]),
        (
            (cambers(right=None), toe(), cambers(2), toe(2)),
            [("toe-before-camber", 1, "right")],
        ),
        (
            (cambers(left=-1.5), sleeve(2, "left"), rods(2), cambers(2), toe(2)),
            [("two-steps", 2, ""), ("rod-before-camber", 2, "left")],
        ),
        (
            (cambers(), toe(), sleeve(2), cambers(2, left=None), toe(2)),
            [("camber-again", 2, "left")],
        ),
        # read again only after it was turned once more
        (
            (cambers(), sleeve(2, "left"), sleeve(3, "left"), cambers(3), toe(3)),
            [("camber-again", 2, "left")],
        ),
        ((cambers(), toe(), sleeve(2), cambers(2)), [("toe-after-sleeve", 2, "")]),
        (
            (cambers(), sleeve(2), cambers(2), toe(2), sleeve(3, "left"), cambers(3)),
            [("toe-after-sleeve", 3, "")],
        ),
        (
            (cambers(right=None), rods(2), toe(2)),
            [("rod-without-camber", 2, "right"), ("toe-before-camber", 2, "right")],
        ),
        (
            (cambers(left=-1.5, right=1.5), toe(), rods(2), toe(2)),
            [("rod-before-camber", 2, "left"), ("rod-before-camber", 2, "right")],
        ),
        # each wheel inside or near it, one less the other outside
        (
            (cambers(left=-0.45, right=0.45), toe(), rods(2), toe(2)),
            [("rod-before-camber", 2, "")],
        ),
        ((cambers(), toe(), rods(2)), [("toe-after-rod", 2, "")]),
        ((cambers(), toe(), rods(2), rods(3), toe(3)), [("toe-after-rod", 2, "")]),
    ],
)
def test_what_is_out_of_order(lines, slipped):
    assert sorted(found(*lines)) == sorted(slipped)


@pytest.mark.parametrize(
    ("lines", "slipped"),
    [
        ((cambers(2), toe(2)), []),
        ((cambers(2),), [("toe-after-drive", 2, "")]),
        ((toe(2),), [("camber-after-drive", 2, "left"), ("camber-after-drive", 2, "right")]),
        ((cambers(2, left=None), toe(2)), [("camber-after-drive", 2, "left")]),
        ((rods(2), cambers(2), toe(2)), [("two-steps", 2, "")]),
        # turned after the drive: allowed, all is read again
        ((cambers(2), toe(2), rods(3), toe(3)), []),
        # what needs turning is turned at once, toe is read after it
        ((cambers(2, left=-1.5), sleeve(3, "left"), cambers(3, right=None), toe(3)), []),
    ],
)
def test_after_the_drive_both_are_read_again(lines, slipped):
    assert found(cambers(), toe(), *lines, drive_pass=2) == slipped


def test_a_rod_turned_after_the_drive_needs_the_cambers_of_after_the_drive():
    lines = (cambers(), toe(), cambers(2, left=None), rods(3), toe(3))

    assert ("rod-without-camber", 3, "left") in found(*lines, drive_pass=2)


def test_a_rod_is_turned_with_camber_outside_where_nothing_adjusts_it():
    lines = (cambers(left=-1.5), toe(), rods(2), toe(2))

    assert found(*lines, adjusts="not") == []
    assert found(*lines, adjusts="") == [("rod-before-camber", 2, "left")]


def test_a_sleeve_is_not_turned_where_there_is_none():
    lines = (cambers(), sleeve(2, "left"), cambers(2), toe(2))

    assert found(*lines, adjusts="not") == [("not-adjustable", 2, "left")]


def test_a_later_pass_holds_a_step_or_a_reading():
    again = (cambers(), toe(), cambers(2))

    assert found(*again, passes=2) == []
    assert found(*again, passes=4) == [("nothing-done", 3, ""), ("nothing-done", 4, "")]
    assert found(cambers(), toe(3)) == [("nothing-done", 2, "")]


def test_a_toe_that_was_recorded_void_is_not_read():
    sheet = a_sheet(cambers(), sleeve(2), cambers(2), toe(2))
    void = replace(sheet, toes=[replace(one, is_void=True) for one in sheet.toes])

    assert slips(void, camber_adjusts="sleeve") == (Slip("toe-after-sleeve", 2),)


@given(sheets, st.sampled_from(["sleeve", "not", ""]))
def test_slips_of_the_mirrored_cart_are_mirrored(sheet, adjusts):
    straight = slips(sheet, camber_adjusts=adjusts)
    other = slips(mirrored(sheet), camber_adjusts=adjusts)

    swapped = {replace(slip, side=MIRROR.get(slip.side, "")) for slip in straight}
    assert set(other) == swapped
    assert len(other) == len(straight)


@given(sheets)
def test_slips_have_known_codes_and_go_pass_by_pass(sheet):
    told = slips(sheet, camber_adjusts="sleeve")

    assert {slip.code for slip in told} <= set(order.CODES)
    assert [slip.pass_no for slip in told] == sorted(slip.pass_no for slip in told)


def test_toe_read_after_the_rods_stays_read_when_a_later_sleeve_voids_it():
    void = [replace(one, is_void=True) for one in toe(2)]
    before = (cambers(1, left=-0.3), toe(1, 12.7), rods(2), void, cambers(3, left=-0.7), toe(3))

    once_more = (sleeve(4, "left"), cambers(4, right=None), toe(4))

    assert found(*before, *once_more, drive_pass=3) == []
