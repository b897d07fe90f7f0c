"""What looks at jam nuts amount to after something was turned."""

import pytest

from lifts.pieces import JOINTS
from tests.seen_joints import Seen, outcome, tie_rod


def jam_nut(name="tie-rod jam nuts", **changes):
    return Seen(**({"name": name, "family": "steering-joints"} | changes))


@pytest.mark.parametrize("name", ["tie-rod jam nuts", "Camber-sleeve jam-nut, left"])
def test_jam_nuts_asked_for_alone_are_done_without_the_steering(name):
    found = outcome(jam_nut(name), offered=["jam-nuts"])

    assert found.pieces == {"jam-nuts", f"joint:{name}"}


def test_all_joints_hold_the_jam_nuts_and_the_steering_alone_does_not():
    everything = outcome(jam_nut(), tie_rod(), offered=sorted(JOINTS))
    steering = outcome(jam_nut(), tie_rod(), offered=["steering-joints"])

    assert "jam-nuts" in everything.pieces
    assert "jam-nuts" not in steering.pieces


def test_a_jam_nut_not_put_right_holds_the_jam_nuts():
    slack = jam_nut(found="slack", right_after=False)

    found = outcome(slack, jam_nut("camber-sleeve jam nuts"), offered=["jam-nuts"])

    assert "jam-nuts" not in found.pieces
    assert "jam-nuts" in {hold.piece for hold in found.holds}


def test_the_jam_nut_of_a_brake_rod_is_none_of_the_steering():
    brake_rod = jam_nut("brake-rod jam nut", family="other-joints")

    assert "jam-nuts" not in outcome(brake_rod, offered=sorted(JOINTS)).pieces
