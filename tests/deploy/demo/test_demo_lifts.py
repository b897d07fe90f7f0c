"""What single carts of the demo show of speed, tyres, grease, fittings and joints."""

import re

from deploy.demo import fittings, singles
from fleet.desk import said_of
from fleet.models import (
    Cart,
    Recheck,
    Tag,
)
from lifts import extra_joints, tyre_effects
from lifts.fitting_record import missing_in, record_of, warnings_of
from lifts.label_letters import is_too_small
from lifts.models import (
    BrakeCheck,
    Fitting,
    GreasePart,
    GreaseStroke,
    LabelCheck,
    Look,
    SpeedRun,
)
from lifts.parts.speed import verdict_of
from lifts.sisters import BATCH, Sisters
from tests.deploy.demo.told import CUT, cart, resort


def test_speeds_are_judged_and_one_over_its_class_is_tagged():
    judged = {}
    for run in SpeedRun.objects.select_related("cart"):
        judged.setdefault(verdict_of(run), set()).add(run.cart.number)

    assert judged["over"] == {singles.OVER}
    assert judged["can't tell"] == {singles.CANT_TELL}
    assert judged["boundary"] == {singles.BOUNDARY}
    assert set(judged) == {"over", "can't tell", "boundary", "under"}
    assert "20.98 ± 0.46 mph" in Tag.objects.get(cart=cart(singles.OVER)).reason


def test_one_change_of_tyres_moves_speed_stop_meter_and_stability():
    _, context = tyre_effects.block(cart(singles.TYRES_LATER), None, CUT)
    speed, stop, meter, stability, _to_look_at = context["effects"]

    assert context["tyres"] == ["18.0 in (18x8.5-8)", "22.0 in (22x11-10)"]
    # 17.0 mph times 22/18
    assert "= 20.8 mph predicted before measuring" in speed.said
    assert "= 17.0 mph on the tyres" in speed.said
    assert speed.verdict == "over"
    # 22/18, and its cube
    assert "1.22 times as long from equal speed, 1.83 times" in stop.said
    assert "1.222 true mi" in meter.said
    assert re.search(r"factor 0\.\d+ → 0\.\d+, tip angle \d+\.\d° → \d+\.\d°", stability.said)
    due = Recheck.objects.active().filter(cart=cart(singles.TYRES_LATER))
    assert {"speed-run", "brake-check", "all-lugs"} <= set(due.values_list("kind_code", flat=True))


def test_stop_runs_of_lifted_carts_are_held_against_plain_ones():
    said = dict.fromkeys(BrakeCheck.objects.values_list("reference_said", flat=True))

    assert set(said) == {
        None,
        "the median of 3 plain carts of the site",
        "the median of 2 plain carts of the site",
    }


def test_another_thickener_is_purged_once_and_a_blocked_fitting_follows_up():
    assert GreasePart.objects.filter(thickener="polyurea").count() >= 2
    [purge] = GreasePart.objects.filter(thickener="polyurea", thickener_before="lithium complex")
    assert purge.cart.number == singles.PURGED
    [stroke] = GreaseStroke.objects.filter(found="blocked")
    row = Recheck.objects.get(cart=cart(singles.BLOCKED), kind_code="grease-point")
    assert (row.subject, row.ended) == (stroke.name, Recheck.Ended.CLOSED)


def test_one_label_has_letters_smaller_than_asked_for():
    small = [check.cart.number for check in LabelCheck.objects.all() if is_too_small(check)]

    assert small == ["119"]


def test_fittings_are_recorded_whole_but_two_are_to_be_looked_at():
    warned = {}
    full = Fitting.objects.filter(paperwork="full").select_related("site", "kit", "cart")
    for fitting in full:
        lines = list(fitting.lines.all())
        assert missing_in(record_of(fitting, lines)) == ""
        for warning in warnings_of(fitting, lines):
            warned[fitting.cart.number] = warning

    assert set(warned) == {fittings.UNEVEN, fittings.U_BOLTS_USED_AGAIN}
    bearings = list(full.values_list("hub_bearing", flat=True))
    assert bearings.count("sealed") > 3 * bearings.count("taper") > 0


def test_carts_are_sisters_by_their_batch_of_u_bolts():
    sisters = Sisters(cart("112"), CUT)
    [(_, words, others)] = [trait for trait in sisters.traits() if trait[0].way == BATCH]

    assert others >= 2
    assert "UB-B" in words


def test_a_close_out_half_gathered_tells_the_desk_what_is_missing():
    row = cart("148")

    assert row.condition == Cart.Condition.ON_STANDS
    row.is_stopped = row.is_late = False
    said = said_of(row, resort())
    assert not said.goes
    assert said.why == (
        "on stands in the shop, not recorded: "
        "provisional camber and toe, stop run, speed run, test drive"
    )


def test_a_joint_that_no_list_has_is_looked_at_once_taken_up():
    taken_up, waits = cart(singles.TAKEN_UP), cart(singles.WAITING)

    assert Look.objects.filter(fact__cart=taken_up, name="tow eye bolts").exists()
    seen = extra_joints.waiting(Cart.objects.filter(pk__in=[taken_up.pk, waits.pk]), CUT)
    assert [(one.cart.number, one.name) for one in seen] == [("105", "rear seat brace bolts")]
