import pytest

from alignment.contradictions import contradictions
from alignment.readings import ROD, SLEEVE, Camber, Sheet, Toe, Turn

THIRTY_SECOND_MM = 25.4 / 32


def gauge(deg, side="left", pass_no=1, *, half_turn=False):
    return Camber(side, pass_no, gauge_deg=deg, half_turn=half_turn)


def square(top_mm, bottom_mm, side="left", pass_no=1):
    return Camber(side, pass_no, top_mm, bottom_mm, 300.0)


def toes(*toes_mm, pass_no=1):
    return [Toe(911.0, 911.0 + toe_mm, pass_no) for toe_mm in toes_mm]


def found(*cambers, gains=None, **sheet):
    return [
        (one.kind, one.name, one.pass_no)
        for one in contradictions(Sheet(THIRTY_SECOND_MM, cambers=cambers, **sheet), gains=gains)
    ]


# 99 % of chi-square, 1 degree: 6.635; u of one toe in 32nds is hypot(0.324, 0.508) = 0.6026 mm
@pytest.mark.parametrize(("apart_mm", "scattered"), [(2.19, []), (2.20, [("scatter", "toe", 1)])])
def test_toes_that_scatter_more_than_the_mark_explains(apart_mm, scattered):
    assert found(toes=toes(4.0, 4.0 + apart_mm)) == scattered


def test_readings_of_different_passes_wheels_or_halves_need_not_agree():
    cambers = [gauge(0), gauge(2, "right"), gauge(3, pass_no=2)]

    assert found(*cambers, toes=[*toes(4), *toes(12, pass_no=2)]) == []


def test_a_scatter_shows_its_readings():
    (one,) = contradictions(Sheet(1.0, cambers=[gauge(0.1), gauge(0.2), gauge(1.2)]))

    assert (one.kind, one.name, one.figures) == ("scatter", "camber left", (0.1, 0.2, 1.2))


def test_half_a_turn_that_changes_camber_is_a_bent_rim():
    bent = [gauge(-0.5), gauge(-0.4), gauge(0.7, half_turn=True), gauge(0.8, half_turn=True)]
    (one,) = contradictions(Sheet(1.0, cambers=bent))

    assert (one.kind, one.name) == ("bent-rim", "camber left")
    assert one.figures == pytest.approx((-0.45, 0.75))
    assert found(gauge(0), gauge(0.2, half_turn=True)) == []


def test_a_square_and_a_gauge_at_one_wheel_should_agree():
    assert found(square(3, 3), gauge(0.2)) == []
    (one,) = contradictions(Sheet(1.0, cambers=[square(3, 3), gauge(1.0)]))

    assert (one.kind, one.name, one.figures) == ("two-tools", "camber left", (0.0, 1.0))


FLOOR = (6.35, 914.4, "left")


def test_the_floor_cancels_between_two_squares_and_not_with_a_gauge():
    assert found(square(5, 1), square(1, 1, "right"), floor=FLOOR) == []
    mixed = [square(5, 1), gauge(0.1, "right")]
    (one,) = contradictions(Sheet(1.0, cambers=mixed, floor=FLOOR))

    assert (one.kind, one.name) == ("floor", "side to side")
    assert one.figures[1] - one.figures[0] == pytest.approx(0.398, abs=0.001)


def turned(longer_flats, before_deg, after_deg, **gains):
    return found(
        gauge(before_deg),
        gauge(after_deg, pass_no=2),
        turns=[Turn(SLEEVE, "left", 2, longer_flats)],
        gains=gains,
    )


@pytest.mark.parametrize(
    ("longer_flats", "after_deg", "kinds"),
    [
        (6, 0.0, []),
        (6, -0.7, []),  # moved less than it should, beyond its doubt
        (6, -2.0, ["wrong-way"]),
        (6, -1.0, ["did-not-move"]),
        (2, -1.0, []),  # too little to be seen
        (-6, -2.0, []),
        (None, -2.0, []),
    ],
)
def test_a_sleeve_that_did_not_do_what_it_should(longer_flats, after_deg, kinds):
    said = turned(longer_flats, -1.0, after_deg, sleeve=0.17)

    assert said == [(kind, "camber left", 2) for kind in kinds]


def test_a_turn_is_not_looked_at_without_what_it_should_do():
    assert turned(6, -1.0, -2.0) == []
    assert turned(6, -1.0, -2.0, rod=1.3) == []


@pytest.mark.parametrize(
    ("gain", "kinds"), [(-1.3, []), (1.3, ["wrong-way"])], ids=["arm ahead", "arm behind"]
)
def test_rods_of_both_sides_move_toe_together(gain, kinds):
    rods = [Turn(ROD, side, 2, 4.0) for side in ("left", "right")]
    read = [*toes(12.7), *toes(4.8, pass_no=2)]

    assert found(toes=read, turns=rods, gains={"rod": gain}) == [(kind, "toe", 2) for kind in kinds]


def test_the_change_of_a_turn_shows_what_it_should_have_been():
    sheet = Sheet(
        1.0,
        cambers=[gauge(-1.0), gauge(-2.0, pass_no=2)],
        turns=[Turn(SLEEVE, "left", 2, 6)],
    )
    (one,) = contradictions(sheet, gains={SLEEVE: 0.17})

    assert one.figures == pytest.approx((1.02, -1.0, 0.29439), abs=1e-5)


def test_more_readings_than_a_bound_is_known_for_are_no_mistake():
    assert found(toes=toes(4, 4, 4, 4, 9)) == [("scatter", "toe", 1)]
    assert found(toes=toes(4, 4, 4, 4, 4, 9)) == []
