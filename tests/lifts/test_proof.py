"""What share of its proof load a joint's target asks of its bolt."""

from decimal import Decimal
from types import SimpleNamespace

import pytest

from lifts.proof import (
    above_proof,
    is_weaker_galvanised,
    pitches_disagree,
    share_of_target,
    thread_of,
)

LBF_FT_NM = Decimal("1.3558179483")  # NIST SP 811 (2008) App. B


def joint(**about):
    unsaid = {"thread": "M10", "pitch_mm": None, "grade": "", "nut_factor": None}
    values = unsaid | {"target_nm": Decimal(40), "is_galvanised": False} | about
    return SimpleNamespace(**values)


@pytest.mark.parametrize(
    ("thread", "grade", "target", "percent"),
    [
        # proof stress ISO 898-1, SAE J429; stress areas ISO 898-1 9.1.6.1, ASME B1.1; by hand
        ("M10", "8.8", 25 * LBF_FT_NM, 50),
        ("M10", "4.6", 25 * LBF_FT_NM, 130),
        ("M10", "", 25 * LBF_FT_NM, 130),
        ("M8", "class 8.8", Decimal("18.5") * LBF_FT_NM, 74),
        ("M6", "8.8", Decimal("18.5") * LBF_FT_NM, 179),
        ("1/2-20", "grade 5", 60 * LBF_FT_NM, 53),
        ("1/2-20", "grade 2", 60 * LBF_FT_NM, 82),
    ],
)
def test_the_share_of_proof_of_usual_torques(thread, grade, target, percent):
    share = share_of_target(joint(thread=thread, grade=grade, target_nm=target))

    assert round(share.share * 100) == percent
    assert share.is_above_proof() == (percent > 100)


def test_the_joints_own_nut_factor_counts():
    share = share_of_target(joint(grade="8.8", nut_factor=Decimal("0.15")))

    # 40 N.m on M10 with K 0.15 is 26.7 kN of 33.6: by hand
    assert round(share.share * 100) == 79
    assert not share.is_nut_factor_assumed


@pytest.mark.parametrize("about", [{"target_nm": None}, {"thread": "taper"}, {"thread": ""}])
def test_no_share_without_a_target_or_a_thread(about):
    assert share_of_target(joint(**about)) is None


def test_above_proof_names_only_those_joints():
    weak, strong, unread = joint(), joint(grade="8.8"), joint(thread="rod")

    assert [one for one, _share in above_proof([weak, strong, unread])] == [weak]


def test_a_pitch_beside_the_size_makes_the_thread():
    assert thread_of("M10", Decimal("1.25")).text == "M10x1.25"
    assert thread_of("M10").text == "M10"
    assert thread_of("1/2-20", Decimal("1.27")).text == "1/2-20"
    assert thread_of("rod", Decimal("1.5")) is None


@pytest.mark.parametrize(
    ("thread", "pitch", "is_other"),
    [
        ("M10x1.25", "1.5", True),
        ("M10x1.25", "1.25", False),
        ("M10", "1.25", False),
        ("1/2-20", "1.27", False),
        ("3/8-16", "1.59", False),
        ("1/2-20", "1.5", True),
        ("rod", "1.5", False),
    ],
)
def test_a_pitch_that_the_thread_does_not_have(thread, pitch, is_other):
    assert pitches_disagree(thread, Decimal(pitch)) is is_other


@pytest.mark.parametrize(
    ("about", "is_weaker"),
    # ISO 10684: M8 and M10, hot dip galvanised, carry less
    [
        ({"is_galvanised": True}, True),
        ({"is_galvanised": True, "thread": "M8"}, True),
        ({"is_galvanised": True, "thread": "M12"}, False),
        ({"is_galvanised": True, "thread": "3/8-16"}, False),
        ({"is_galvanised": True, "thread": "rod"}, False),
        ({"grade": "8.8 HDG"}, True),
        ({"grade": "8.8"}, False),
    ],
)
def test_galvanised_m8_and_m10_are_warned_of(about, is_weaker):
    assert is_weaker_galvanised(joint(**about)) is is_weaker
