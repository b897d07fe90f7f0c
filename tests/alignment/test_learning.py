import random
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binom

from alignment.advice import Rod, Sleeve, Steering, formula_change
from alignment.learning import (
    Learned,
    Seen,
    gain,
    learn,
    rods_seen,
    sleeves_seen,
)
from alignment.readings import ROD, SLEEVE, Camber, Sheet, Toe, Turn

STEERING = Steering(Rod(1.25, False, 114.3, is_ahead=True), Sleeve(1.25, True, 140), 45)
DIAMETER_MM = 558.8


def clear(*shares):
    return [Seen(share * 8.0, 8.0, 0.1) for share in shares]


def toes(pass_no, *each_mm, **given):
    return [Toe(900.0, 900.0 + mm, pass_no, **given) for mm in each_mm]


def gauges(pass_no, left_deg, right_deg):
    each = {"left": left_deg, "right": right_deg}
    return [Camber(side, pass_no, gauge_deg=deg) for side, deg in each.items()]


def rods(pass_no, left_flats, right_flats):
    return [Turn(ROD, "left", pass_no, left_flats), Turn(ROD, "right", pass_no, right_flats)]


def formula(turn):
    return formula_change(turn, STEERING, DIAMETER_MM)


def a_sheet(**given):
    return Sheet(mark_mm=0.8, diameter_mm=DIAMETER_MM, **given)


def test_learn_gives_the_median_of_the_shares_and_the_outermost_of_a_few():
    assert learn(clear(0.9, 1.2, 0.8)) == Learned(0.9, pytest.approx(0.8), 1.2, 3)


def test_learn_counts_no_turn_whose_formula_is_lost_in_its_uncertainty():
    unclear = Seen(1.0, 3.9, 1.0)
    just_clear = Seen(2.0, -4.0, 1.0)

    assert learn([unclear, Seen(1.0, 0.0, 0.0)]) is None
    assert learn([unclear, just_clear]) == Learned(-0.5, -0.5, -0.5, 1)
    assert learn([]) is None


# ISO 16269-7:2001, by the binomial distribution, which scipy gives
@pytest.mark.parametrize("count", range(1, 60))
def test_learn_gives_a_range_that_holds_the_true_median_95_times_in_a_hundred(count):
    shares = [1 + place / 100 for place in range(count)]
    learned = learn(clear(*shares))
    left_out = round((learned.low - 1) * 100)

    assert learned.high == pytest.approx(1 + (count - 1 - left_out) / 100)
    if count >= 6:
        assert 2 * binom.cdf(left_out, count, 0.5) <= 0.05
    assert left_out == 0 or count >= 6
    assert 2 * binom.cdf(left_out + 1, count, 0.5) > 0.05


@given(st.lists(st.floats(0.5, 2), min_size=6, max_size=40), st.floats(-1e6, 1e6))
def test_learn_stays_in_its_range_with_one_wild_turn_among_many(shares, wild):
    without = learn(clear(*shares))
    one_wild = learn(clear(*shares[1:], wild))

    assert without.low - 1e-9 <= one_wild.share <= without.high + 1e-9


def test_gain_takes_this_sheets_own_last_clear_turn_first():
    here = [*clear(0.6, 0.8), Seen(3.0, 1.0, 1.0)]

    known = gain(-2.0, here=here, cart=clear(0.9, 0.9), kit=clear(1, 1, 1))

    assert (known.a_flat, known.source) == (-1.6, "sheet")
    assert known.learned == Learned(0.8, 0.8, 0.8, 1)


@pytest.mark.parametrize(
    ("cart", "kit", "share", "source"),
    [
        (clear(0.7, 0.9), clear(2, 2, 2), 0.8, "cart"),
        (clear(0.7), clear(1.2, 1.3, 1.4), 1.3, "kit"),
        (clear(0.7), clear(1.2, 1.3), 1, "formula"),
        ((), (), 1, "formula"),
        ([Seen(4, 5, 2)] * 9, clear(1.2, 1.3, 1.4), 1.3, "kit"),
    ],
)
def test_gain_takes_the_cart_from_two_on_the_kit_from_three_on(cart, kit, share, source):
    known = gain(0.5, here=(), cart=cart, kit=kit)

    assert (known.a_flat, known.source) == (pytest.approx(share * 0.5), source)
    assert (known.learned is None) == (source == "formula")


@pytest.mark.parametrize("share", [-1, -0.4, 0, 0.3, 3.1, 40])
def test_gain_never_uses_a_share_of_the_wrong_sign_or_hardly_to_be_believed(share):
    wrong = clear(share, share, share)

    assert gain(0.5, here=wrong, cart=wrong, kit=wrong).source == "formula"
    assert gain(0.5, here=wrong, cart=wrong, kit=clear(0.9, 0.9, 0.9)).a_flat == 0.45


def test_rods_seen_adds_up_both_sides_between_the_readings_around_them():
    sheet = a_sheet(toes=[*toes(1, 12.7, 12.5), *toes(2, 5.0)], turns=rods(2, 4, 4))

    (seen,) = rods_seen(sheet, formula)

    assert seen.change == pytest.approx(5.0 - 12.6)
    assert seen.formula_change == pytest.approx(8 * -558.8 * 1.25 / 6 / 114.3)
    # u² = 2 (0.8 / 2 / √3)² + 0.508² / n, of both
    assert seen.standard == pytest.approx((4 * 0.053333 + 0.508**2 * 1.5) ** 0.5, rel=1e-3)


def test_rods_seen_takes_one_side_alone():
    sheet = a_sheet(toes=[*toes(1, 12.7), *toes(2, 8.0)], turns=[Turn(ROD, "left", 2, 4.0)])

    (seen,) = rods_seen(sheet, formula)

    assert seen.formula_change == pytest.approx(4 * -558.8 * 1.25 / 6 / 114.3)


@pytest.mark.parametrize(
    "unfit",
    [
        {"turns": [Turn(ROD, "left", 2, 4.0), Turn(ROD, "right", 2)]},
        {"turns": [*rods(2, 4, 4), Turn(SLEEVE, "left", 2, 3.0)]},
        {"turns": rods(2, 4, 4), "drive_pass": 2},
        {"turns": rods(2, 4, 4), "toes": toes(2, 5.0)},
        {"turns": rods(2, 4, 4), "toes": toes(1, 12.7)},
        {"turns": rods(3, 4, 4)},
        {
            "turns": rods(2, 4, 4),
            "toes": [*toes(1, 12.7, is_void=True), *toes(2, 5.0)],
        },
    ],
    ids=["uncounted", "with a sleeve", "driven", "none before", "none after", "later", "void"],
)
def test_rods_seen_learns_from_no_other_pass(unfit):
    sheet = a_sheet(**{"toes": [*toes(1, 12.7), *toes(2, 5.0)], **unfit})

    assert rods_seen(sheet, formula) == []


def test_rods_seen_learns_nothing_without_a_formula():
    sheet = a_sheet(toes=[*toes(1, 12.7), *toes(2, 5.0)], turns=rods(2, 4, 4))

    assert rods_seen(sheet, lambda turn: None) == []


def test_sleeves_seen_takes_each_wheel_by_itself():
    turns = [Turn(SLEEVE, "left", 2, 6.0), Turn(SLEEVE, "right", 2, -3.0)]
    sheet = a_sheet(cambers=[*gauges(1, -1.5, 0.5), *gauges(2, -0.3, 0.0)], turns=turns)

    left, right = sleeves_seen(sheet, formula)

    assert (left.change, right.change) == (pytest.approx(1.2), -0.5)
    assert left.formula_change == pytest.approx(1.023, abs=0.001)
    assert right.formula_change == pytest.approx(-left.formula_change / 2)


@pytest.mark.parametrize("share", [0.6, 0.8, 1.0, 1.5])
def test_a_known_share_comes_back_from_sheets_with_noise(share):
    noise, found = random.Random(20260406), []
    for _ in range(60):
        flats = noise.choice([2, 3, 4, 5, -2, -3])
        before_mm = noise.uniform(5, 15)
        moved_mm = share * 2 * formula(Turn(ROD, "left", 2, flats))
        readings = toes(1, *_read(before_mm, noise)) + toes(2, *_read(before_mm + moved_mm, noise))
        sheet = a_sheet(toes=readings, turns=rods(2, flats, flats))
        found += rods_seen(sheet, formula)

    learned = learn(found)

    assert learned.count >= 50
    assert learned.low < share < learned.high
    assert learned.share == pytest.approx(share, abs=0.05)
    assert learned.share == median(one.share for one in found if one.is_clear)


def _read(toe_mm, noise):
    """Return three readings by a tape with marks of 0.8 mm."""
    return [0.8 * round((toe_mm + noise.gauss(0, 0.5)) / 0.8) for _ in range(3)]
