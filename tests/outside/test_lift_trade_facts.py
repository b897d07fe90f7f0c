"""Usual torques of lifted carts and what they do: common practice, no source for any of them.

They check the formulas alone and are no advice for a cart: the kit maker's sheet decides.
"""

import pytest

from lifts.preload import full_loss_angle_deg, most_clamp_lost, preload_n, share_of_proof
from lifts.threads import read_thread
from lifts.torque import stage_torques_nm
from shared.units import read_quantity


def newton_metres(lbf_ft):
    return read_quantity(f"{lbf_ft} lbf.ft", "torque", "N.m").si


@pytest.mark.parametrize(
    ("joint", "lbf_ft", "thread", "grade", "percent"),
    [
        ("lugs", "55", "1/2-20", "grade 2", 75),
        ("lugs", "55", "1/2-20", "grade 5", 49),
        ("lugs", "55", "1/2-20", "grade 8", 34),
        ("U-bolts", "25", "M10", "8.8", 50),
        ("U-bolts", "25", "M10", "4.6", 130),
        ("steering rack", "22", "M8", "8.8", 88),
        ("spring end bolts", "18.5", "M8", "8.8", 74),
        # an M6 there is refused: a tool's size is not its thread's
        ("spring end bolts", "18.5", "M6", "8.8", 179),
    ],
)
def test_a_usual_torque_pulls_a_bolt_to_its_share_of_proof(joint, lbf_ft, thread, grade, percent):
    share = share_of_proof(newton_metres(lbf_ft), read_thread(thread), grade)

    assert round(100 * share.share) == percent, joint
    assert share.is_above_proof() is (percent > 100), joint
    assert not share.is_grade_assumed


def test_an_unmarked_u_bolt_at_its_usual_torque_counts_as_above_proof():
    share = share_of_proof(newton_metres("25"), read_thread("M10"), "none seen")

    assert share.is_grade_assumed
    assert share.is_above_proof()


def test_an_unmarked_lug_at_its_usual_torque_does_not():
    share = share_of_proof(newton_metres("55"), read_thread("1/2-20"))

    assert share.is_grade_assumed
    assert not share.is_above_proof()


def test_oil_on_a_steering_rack_bolt_takes_it_past_proof():
    rack, m8 = newton_metres("22"), read_thread("M8")

    assert not share_of_proof(rack, m8, "8.8").is_above_proof()
    assert share_of_proof(rack, m8, "8.8", 0.15).is_above_proof()


@pytest.mark.parametrize("written", ["spindle", "taper", "rod", "kit sheet"])
def test_a_hub_nut_at_50_pound_feet_has_no_share_since_a_spindle_is_no_thread(written):
    with pytest.raises(ValueError, match=f"“{written}” is not a thread"):
        read_thread(written)


def test_lugs_go_to_55_pound_feet_in_three_stages():
    stages = stage_torques_nm(newton_metres("55"), "50, 80, 100 %")

    assert [round(stage, 1) for stage in stages] == [37.3, 59.7, 74.6]


def test_any_movement_of_a_lug_that_shows_means_its_clamp_had_gone():
    # grip of 16 mm: a twelfth of a turn is the least that anyone writes down
    lug = read_thread("1/2-20")
    preload = preload_n(newton_metres("55"), 0.20, lug.diameter_mm)
    full_loss = full_loss_angle_deg(preload, lug, 16)

    assert round(full_loss, 1) == 6.3
    assert most_clamp_lost(30, full_loss) == 1.0


def test_a_twelfth_of_a_turn_of_a_u_bolt_nut_is_at_most_58_percent_of_its_clamp():
    u_bolt = read_thread("M10")
    preload = preload_n(newton_metres("25"), 0.20, u_bolt.diameter_mm)
    full_loss = full_loss_angle_deg(preload, u_bolt, 150)

    assert round(full_loss) == 51
    assert round(100 * most_clamp_lost(30, full_loss)) == 58
    assert most_clamp_lost(60, full_loss) == 1.0
