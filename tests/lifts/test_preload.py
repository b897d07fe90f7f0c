"""Preload, its share of proof and the movement of a nut, against worked figures."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.preload import (
    NUT_FACTORS,
    full_loss_angle_deg,
    galvanised_warning,
    most_clamp_lost,
    nut_factor_from_friction,
    preload_n,
    preload_scatter,
    share_of_proof,
    torque_nm_for,
)
from lifts.threads import GRADES, proof_load_n, read_grade, read_thread
from shared.units import read_quantity

M8, M10 = read_thread("M8"), read_thread("M10")
HALF_FINE = read_thread("1/2-20")
THREADS = st.sampled_from([read_thread(t) for t in ("M6", "M8", "M10", "M12", "1/2-20", "3/8-16")])
TORQUES = st.floats(1, 300)
NUT_FACTORS_SEEN = st.floats(0.05, 0.5)


@pytest.mark.parametrize(
    ("thread", "torque", "nut_factor", "grade", "share"),
    [
        (M10, 40, None, "8.8", 59),
        (M10, 40, None, "4.8", 111),
        (M10, 40, None, "4.6", 153),
        (M10, 40, 0.15, "8.8", 79),
        (M8, 20, None, "8.8", 59),
        (M8, 20, 0.15, "8.8", 79),
        (HALF_FINE, 81.349, None, "2", 82),
        (HALF_FINE, 81.349, None, "G5", 53),
        (HALF_FINE, 81.349, None, "grade 8", 38),
    ],
)
def test_a_share_of_proof_is_as_worked_by_hand(thread, torque, nut_factor, grade, share):
    # T / (K d) over A S, with areas rounded to 58.0 and 36.6 mm2, and 0.1599 in2
    found = share_of_proof(torque, thread, grade, nut_factor).share

    assert 100 * found == pytest.approx(share, abs=0.55)


def test_40_newton_metres_pull_an_m10_to_20_kilonewtons():
    assert preload_n(Decimal(40), Decimal("0.20"), Decimal(10)) == pytest.approx(20_000)


def test_an_unknown_grade_counts_as_the_weakest_and_says_so():
    for text in ("", "none seen", "A2-70", "G5"):
        share = share_of_proof(40, M10, text)

        assert (share.grade, share.is_grade_assumed) == ("4.6", True)
        assert share.share == share_of_proof(40, M10, "4.6").share

    assert share_of_proof(40, HALF_FINE, "8.8").grade == "2"


def test_a_known_grade_is_not_assumed():
    share = share_of_proof(40, M10, "class 8.8")

    assert (share.grade, share.is_grade_assumed) == ("8.8", False)


def test_an_unknown_nut_factor_counts_as_a_fifth_and_says_so():
    unknown, known = share_of_proof(40, M10, "8.8"), share_of_proof(40, M10, "8.8", 0.2)

    assert (unknown.nut_factor, unknown.is_nut_factor_assumed) == (0.2, True)
    assert (known.nut_factor, known.is_nut_factor_assumed) == (0.2, False)
    assert unknown.share == known.share


@pytest.mark.parametrize(
    ("nut_factor", "low", "high"),
    [
        (None, 0.65, 1.35),
        (0.16, 0.65, 1.35),
        (Decimal("0.15"), 0.75, 1.25),
        (0.11, 0.75, 1.25),
    ],
)
def test_dry_threads_scatter_more_than_lubricated_ones(nut_factor, low, high):
    share = share_of_proof(40, M10, "8.8", nut_factor)

    assert share.low / share.share == pytest.approx(low)
    assert share.high / share.share == pytest.approx(high)


def test_above_proof_starts_past_the_proof_load():
    at_proof = torque_nm_for(proof_load_n("8.8", M10), 0.2, 10)

    assert not share_of_proof(at_proof, M10, "8.8").is_above_proof()
    assert share_of_proof(at_proof * 1.0001, M10, "8.8").is_above_proof()


def test_a_share_that_only_rounding_takes_past_one_is_not_above_proof():
    torque = torque_nm_for(proof_load_n("5", HALF_FINE), 0.18, 12.7)

    share = share_of_proof(torque, HALF_FINE, "5", 0.18)

    assert 1 < share.share < 1 + 1e-12
    assert not share.is_above_proof()


@given(THREADS, st.sampled_from(GRADES), st.floats(0.05, 0.5))
def test_a_torque_worked_back_from_proof_is_never_above_it(thread, grade, nut_factor):
    if read_grade(grade, is_inch=thread.is_inch) is None:
        return
    torque = torque_nm_for(proof_load_n(grade, thread), nut_factor, thread.diameter_mm)

    share = share_of_proof(torque, thread, grade, nut_factor)

    assert share.share == pytest.approx(1)
    assert not share.is_above_proof()


@given(TORQUES, NUT_FACTORS_SEEN, st.floats(5, 40))
def test_torque_and_preload_are_each_other_s_inverse(torque, nut_factor, diameter):
    preload = preload_n(torque, nut_factor, diameter)

    assert torque_nm_for(preload, nut_factor, diameter) == pytest.approx(torque)


@given(THREADS, TORQUES, st.floats(1.001, 3))
def test_more_torque_is_a_greater_share(thread, torque, times):
    less, more = share_of_proof(torque, thread), share_of_proof(torque * times, thread)

    assert less.share < more.share
    assert less.low < less.share < less.high


@given(THREADS, TORQUES, NUT_FACTORS_SEEN, st.floats(1.001, 3))
def test_more_friction_is_a_smaller_share(thread, torque, nut_factor, times):
    slippery = share_of_proof(torque, thread, "", nut_factor)
    rough = share_of_proof(torque, thread, "", nut_factor * times)

    assert rough.share < slippery.share


@given(THREADS, st.decimals(1, 200, places=1))
def test_a_torque_typed_in_pound_feet_is_the_same_share_in_newton_metres(thread, foot_pounds):
    typed = read_quantity(f"{foot_pounds} ft-lb", "torque", "N.m")
    in_inches = read_quantity(f"{foot_pounds * 12} lbf.in", "torque", "N.m")

    share = share_of_proof(typed.si, thread)

    assert share == share_of_proof(float(typed.si), thread)
    assert share == share_of_proof(in_inches.si, thread)
    assert share.share == pytest.approx(
        float(foot_pounds) * share_of_proof(1.3558179483, thread).share
    )


@pytest.mark.parametrize(
    ("torque", "nut_factor", "name"), [(0, 0.2, "torque_nm"), (-1, 0.2, "torque_nm")]
)
def test_no_torque_is_refused(torque, nut_factor, name):
    with pytest.raises(ValueError, match=f"{name} must be above zero, not {torque}"):
        share_of_proof(torque, M10, "8.8", nut_factor)


@pytest.mark.parametrize("nut_factor", [0, -0.2, Decimal(0)])
def test_no_nut_factor_is_refused(nut_factor):
    with pytest.raises(ValueError, match="nut_factor must be above zero"):
        share_of_proof(40, M10, "8.8", nut_factor)


@pytest.mark.parametrize(
    ("thread", "text", "is_warned"),
    [
        ("M8", "hot-dip galvanised", True),
        ("M10", "HDG", True),
        ("M10x1.25", "Galvanized, hot dip", True),
        ("M10", "hot dip", True),
        ("M10", "zinc plated", False),
        ("M10", "", False),
        ("M12", "hot-dip galvanised", False),
        ("5/16-18", "galvanised", False),
    ],
)
def test_only_a_galvanised_m8_or_m10_is_warned_of(thread, text, is_warned):
    assert galvanised_warning(read_thread(thread), text) is is_warned


@pytest.mark.parametrize(
    ("thread", "preload", "grip", "angle"),
    [(M10, 20_000, 140, 57), (M10, 20_000, 20, 8), (HALF_FINE, 32_027, 16, 7)],
)
def test_a_full_loss_angle_is_as_worked_by_hand(thread, preload, grip, angle):
    # 360 F L / (E A p), with E 205 GPa; a lug at 60 lbf.ft is pulled to 7,200 lbf
    assert round(full_loss_angle_deg(preload, thread, grip)) == angle


def test_a_u_bolt_leg_of_150_mm_lost_all_clamp_within_one_flat():
    torque = read_quantity("25 lbf.ft", "torque", "N.m").si
    full_loss = full_loss_angle_deg(preload_n(torque, 0.20, 10), M10, Decimal(150))

    assert round(full_loss) == 51
    assert most_clamp_lost(60, full_loss) == 1.0
    assert most_clamp_lost(30, full_loss) == pytest.approx(0.585, abs=5e-4)


@given(THREADS, st.floats(100, 50_000), st.floats(5, 200), st.floats(1.001, 3))
def test_a_longer_grip_or_a_softer_bolt_turns_further(thread, preload, grip, times):
    angle = full_loss_angle_deg(preload, thread, grip)

    assert full_loss_angle_deg(preload, thread, grip * times) > angle
    assert full_loss_angle_deg(preload, thread, grip, e_gpa=205 / times) > angle
    assert full_loss_angle_deg(preload * times, thread, grip) > angle


@pytest.mark.parametrize(
    ("moved", "full_loss", "lost"), [(0, 50, 0.0), (25, 50, 0.5), (50, 50, 1.0), (90, 50, 1.0)]
)
def test_the_clamp_lost_is_at_most_all_of_it(moved, full_loss, lost):
    assert most_clamp_lost(Decimal(moved), full_loss) == lost


@pytest.mark.parametrize("moved", [-1, float("nan")])
def test_a_nut_that_moved_less_than_nothing_is_refused(moved):
    with pytest.raises(ValueError, match=f"moved_deg must not be below zero, not {moved}"):
        most_clamp_lost(moved, 50)


def test_an_angle_or_a_grip_of_nothing_is_refused():
    with pytest.raises(ValueError, match="full_loss_deg must be above zero, not 0"):
        most_clamp_lost(30, 0)
    with pytest.raises(ValueError, match="grip_mm must be above zero, not 0"):
        full_loss_angle_deg(20_000, M10, 0)


@given(THREADS, st.floats(0.05, 0.3), st.floats(0.05, 0.3), st.floats(1.001, 2))
def test_more_friction_is_a_greater_nut_factor(thread, mu_thread, mu_bearing, times):
    nut_factor = nut_factor_from_friction(thread, mu_thread, mu_bearing)

    assert nut_factor_from_friction(thread, mu_thread * times, mu_bearing) > nut_factor
    assert nut_factor_from_friction(thread, mu_thread, mu_bearing * times) > nut_factor


@given(THREADS, TORQUES, st.lists(st.floats(1_000, 50_000), min_size=1, max_size=9))
def test_a_nut_factor_from_trials_gives_back_their_torque(thread, torque, preloads):
    nut_factor, up, down = preload_scatter(torque, thread.diameter_mm, preloads)

    mean = sum(preloads) / len(preloads)
    assert torque_nm_for(mean, nut_factor, thread.diameter_mm) == pytest.approx(torque)
    assert mean * (1 + up) == pytest.approx(max(preloads))
    assert mean * (1 - down) == pytest.approx(min(preloads))


def test_trials_without_a_preload_are_refused():
    with pytest.raises(ValueError, match="at least one preload is needed"):
        preload_scatter(50, 10, [])
    with pytest.raises(ValueError, match="preload 2 must be above zero, not 0"):
        preload_scatter(50, 10, [4_000, 0])


def test_the_nut_factors_to_choose_from_fall_with_better_lubrication():
    assert [*NUT_FACTORS.values()] == sorted(NUT_FACTORS.values(), reverse=True)
