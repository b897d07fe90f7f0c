"""What follows from look to look: U-bolts loose and clean in a row, steering once loose."""

from datetime import timedelta

import pytest

from fleet.actions.rounds import TakenDown, save_round
from fleet.kinds import register
from fleet.models import Tag
from lifts.actions import fit
from shared.models import new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site
from tests.lifts.visiting import a_visit, answers
from tests.wrench_factories import a_good_wrench

pytestmark = pytest.mark.django_db
SLACK = {"found": "slack", "action": "tightened", "right": "yes"}
NEW = {**SLACK, "action": "new bolt"}


class Cart:
    """A lifted cart whose joints are gone round once a day, all firm but what is told."""

    def __init__(self):
        site, self.manager = a_site()
        a_good_wrench(site, self.manager)
        self.cart, self.at = a_cart(site, self.manager), MORNING
        # brought in, so that only findings start clocks
        kit = a_kit(site, self.manager)
        fit(self.cart, kit, by=self.manager, at=MORNING, brought_in=True)

    def gone_round(self, **by_name):
        self.at += timedelta(days=1)
        part, visit = register.parts["joints"], a_visit(self.cart, self.at, stage="recurring")
        form = part.form(visit, answers(part.form(visit), "joints", **by_name))
        assert form.is_valid(), form.errors
        taken = TakenDown(id=new_id(), opened_at=self.at, parts=[(part, form)])
        [outcome] = save_round(self.cart, taken, by=self.manager, at=self.at).outcomes
        return outcome

    def called_for(self, *kinds):
        return sorted(
            self.cart.rechecks.active()
            .filter(kind_code__in=kinds)
            .values_list("kind_code", flat=True)
        )


@pytest.fixture
def cart():
    return Cart()


def test_a_slack_u_bolt_is_normal_again_after_two_clean_looks(cart):
    cart.gone_round(left_U_bolts=SLACK)
    assert cart.called_for("u-bolt-repeat") == ["u-bolt-repeat"]

    cart.gone_round()
    assert cart.called_for("u-bolt-repeat") == ["u-bolt-repeat"]

    cart.gone_round()
    assert cart.called_for("u-bolt-repeat") == []


def test_the_second_slack_look_wants_new_u_bolts_and_the_third_stays_tagged(cart):
    first = cart.gone_round(left_U_bolts=SLACK)
    second = cart.gone_round(left_U_bolts=SLACK)
    third = cart.gone_round(left_U_bolts=NEW)

    assert first.holds == ()
    assert {hold.reason for hold in second.holds} == {
        "left U-bolts: loose twice in a row; new U-bolts and nuts, and look for the cause"
    }
    thrice = "left U-bolts: loose three times in a row; it stays tagged until the cause is found"
    assert {hold.reason for hold in third.holds} == {thrice}
    assert thrice in Tag.objects.latest("done_at").reason


def test_new_u_bolts_at_the_second_slack_look_close_it(cart):
    cart.gone_round(left_U_bolts=SLACK)

    assert cart.gone_round(left_U_bolts=NEW).holds == ()


@pytest.mark.parametrize(
    "loose", [{"left_tie_rod_end": {**SLACK}}, {"left_tie_rod_end": {"pin": "missing"}}]
)
def test_loose_steering_calls_for_all_of_it_and_for_toe(cart, loose):
    cart.gone_round(**loose)
    assert cart.called_for("steering-round", "camber-toe") == ["camber-toe", "steering-round"]

    cart.gone_round()
    assert cart.called_for("steering-round", "camber-toe") == ["camber-toe"]
