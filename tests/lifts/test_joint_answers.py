"""From a joint's card to the look that is recorded: its wrench, and what is copied in."""

from datetime import timedelta
from decimal import Decimal
from uuid import UUID

import pytest

from fleet.actions.rounds import TakenDown, save_round
from fleet.kinds import register
from fleet.models import Round
from fleet.verdicts import turned_better
from lifts.actions import fit
from lifts.actions.wrenches import add_event
from lifts.kit_lines import read_joints
from shared.models import new_id
from tests.factories import MORNING, PersonFactory
from tests.lift_factories import a_cart, a_kit, a_site
from tests.lifts.visiting import a_visit, answers
from tests.wrench_factories import a_certificate, a_good_wrench, a_wrench

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=2)
HOUR = timedelta(hours=1)
ROUND_ID = UUID("01234567-89ab-7def-8123-456789abcdef")
JOINT_LINES = """\
joint | family | wheel | count | thread | grade | grip | target | locking | removals | marks
lugs | lugs | left front | 4 | 1/2-20 | 5 | 16 mm | 80 N.m | | |
U-bolts | u-bolts | | 4 | M10 | 8.8 | 150 mm | 33.9 N.m | | |
tie rod | steering-joints | | 1 | taper | | | 40 N.m | pin | |
hub nut | hub-nuts | | 1 | | | | 70 N.m | pin | |
shackle | other-joints | | 2 | M8 | 8.8 | | 20 N.m | nylon insert | 2 | new each time
block pin | other-joints | | 2 | | | | | | | by look
frame | other-joints | | 2 | | | | | | | no adapter
"""


class Shed:
    """A lifted cart, a mechanic and two wrenches, and the form of its joints."""

    def __init__(self):
        self.site, self.manager = a_site(units="metric")
        self.mechanic = PersonFactory()
        kit = a_kit(self.site, self.manager, joints=read_joints(JOINT_LINES, "N.m"))
        self.cart = a_cart(self.site, self.manager)
        self.big = a_good_wrench(self.site, self.manager)
        scale = {"full_scale_typed": "40 N.m", "full_scale_nm": "40"}
        self.small = a_good_wrench(self.site, self.manager, name="TW-2", **scale)
        self.fitting = fit(self.cart, kit, by=self.manager, at=MORNING + HOUR)

    def form(self, sent=None, at=NOW, **visit):
        visit = a_visit(self.cart, at, **{"by": self.mechanic, **visit})
        return register.parts["joints"].form(visit, sent)

    def sent(self, *carried, at=NOW, **by_name):
        said = answers(self.form(at=at), "joints", **by_name)
        return {**said, "joints-wrenches": [str(wrench.pk) for wrench in carried]}

    def looks(self, *carried, at=NOW, done_at=None, **by_name):
        """Return the looks that the answers amount to, by the joints' names."""
        form = self.form(self.sent(*carried, at=at, **by_name), at=at)
        assert form.is_valid(), form.errors
        row = Round(id=ROUND_ID, cart=self.cart, site=self.site)
        fields = {"cart_id": self.cart.pk, "done_at": done_at or at}
        [(_fact, looks)] = register.parts["joints"].facts(row, form, fields)
        return {look.name: look for look in looks}

    def saved(self, *carried, at=NOW, **by_name):
        form = self.form(self.sent(*carried, at=at, **by_name), at=at)
        assert form.is_valid(), form.errors
        parts = [(register.parts["joints"], form)]
        taken = TakenDown(id=new_id(), opened_at=at, parts=parts)
        return save_round(self.cart, taken, by=self.mechanic, at=at)

    def card(self, name, form=None):
        return next(one for one in (form or self.form()).cards() if one["joint"].name == name)


@pytest.fixture
def shed():
    return Shed()


def preselected(form):
    return form["wrenches"].initial


def test_a_look_has_the_carried_wrench_whose_range_covers_the_target_best(shed):
    looks = shed.looks(shed.big, shed.small)

    wrenches = {name: look.wrench_id for name, look in looks.items() if look.wrench_id}
    assert wrenches == {
        "lugs": shed.big.pk,
        "U-bolts": shed.small.pk,
        "shackle": shed.small.pk,
    }
    assert looks["lugs"].wrench_state == "good"
    assert looks["lugs"].target_nm == Decimal(80)


def test_where_no_carried_wrench_reaches_the_nearest_is_taken_and_it_is_said(shed):
    assert shed.looks(shed.small)["lugs"].wrench_id == shed.small.pk

    form = shed.form(shed.sent(shed.small))
    assert shed.card("lugs", form)["with"] == (
        "no wrench here reaches it; nearest is TW-2 (8 to 36 N·m)"
    )
    assert shed.card("U-bolts", form)["with"] == "with wrench TW-2 (8 to 36 N·m)"


def test_a_wrench_that_nobody_pressed_is_not_called_the_one_it_is_done_with(shed):
    form = shed.form(shed.sent())

    said = "wrench TW-2 (8 to 36 N·m) reaches it: press it above"
    assert shed.card("U-bolts", form)["with"] == said
    assert shed.looks()["U-bolts"].wrench_id is None


def test_another_wrench_may_be_said_for_one_joint(shed):
    looks = shed.looks(shed.small, lugs={"wrench": str(shed.big.pk)})

    assert (looks["lugs"].wrench_id, looks["U-bolts"].wrench_id) == (shed.big.pk, shed.small.pk)


def test_a_pin_left_in_needs_no_wrench_and_a_new_one_does(shed):
    left = shed.looks(shed.big)["tie rod"]
    renewed = shed.looks(shed.big, tie_rod={"pin": "renewed"})["tie rod"]

    assert (left.wrench_id, left.wrench_state) == (None, None)
    assert (renewed.wrench_id, renewed.wrench_state) == (shed.big.pk, "good")


def test_a_new_part_for_one_that_was_gone_needs_a_wrench(shed):
    lugs = {"found": "gone", "action": "new bolt", "right": "yes"}

    assert shed.looks(lugs=lugs)["lugs"].wrench_state == "unnamed"
    assert shed.looks(shed.big, lugs=lugs)["lugs"].wrench_id == shed.big.pk


def test_what_was_gone_and_is_right_now_says_what_was_done(shed):
    form = shed.form(shed.sent(shed.big, lugs={"found": "gone", "right": "yes"}))

    assert not form.is_valid()
    assert list(form.errors.values()) == [
        ["lugs: it was gone and is right now: say what was done"],
    ]


@pytest.mark.parametrize("found", ["gone", "not reached"])
def test_what_was_not_turned_needs_no_wrench(shed, found):
    lugs = shed.looks(shed.big, lugs={"found": found, "right": "no"})["lugs"]

    assert (lugs.wrench_id, lugs.wrench_state) == (None, None)


def test_no_wrench_carried_is_said_of_each_look_that_needs_one(shed):
    looks = shed.looks()

    unnamed = {name for name, look in looks.items() if look.wrench_state == "unnamed"}
    assert unnamed == {"lugs", "U-bolts", "shackle"}


def test_the_state_of_a_wrench_goes_with_the_look(shed):
    add_event(shed.big, "dropped", by=shed.manager, at=NOW - HOUR)
    never = a_wrench(shed.site, shed.manager, name="TW-3")

    assert shed.looks(shed.big)["lugs"].wrench_state == "doubted"
    assert shed.looks(never)["lugs"].wrench_state == "due"
    assert shed.looks(shed.small)["lugs"].wrench_state == "good"


def test_naming_a_good_wrench_afterwards_turns_a_verdict_better(shed):
    part = register.parts["joints"]
    before = part.verdicts(None, list(shed.looks().values()))
    after = part.verdicts(None, list(shed.looks(shed.big).values()))

    turned = turned_better(before, after, part.grades)
    assert turned == [
        (f"{joint}, wrench", "unnamed", "good") for joint in ("lugs", "U-bolts", "shackle")
    ]


def test_work_done_before_a_wrench_was_dropped_has_its_state_of_then(shed):
    add_event(shed.big, "dropped", by=shed.manager, at=NOW - HOUR)

    looks = shed.looks(shed.big, done_at=NOW - 2 * HOUR)

    assert looks["lugs"].wrench_state == "good"


def test_work_done_before_a_wrench_came_to_the_rack_goes_by_its_certificate(shed):
    late = a_wrench(shed.site, shed.manager, name="TW-3", at=NOW - HOUR)
    assert shed.looks(late, done_at=NOW - 2 * HOUR)["lugs"].wrench_state == "due"

    a_certificate(late, shed.manager, NOW - HOUR, done_at=NOW - 3 * HOUR)
    assert shed.looks(late, done_at=NOW - 2 * HOUR)["lugs"].wrench_state == "good"


def test_the_wrenches_of_ones_last_round_are_carried_still(shed):
    assert preselected(shed.form()) == []
    shed.saved(shed.small)

    later = NOW + timedelta(hours=11)
    assert preselected(shed.form(at=later)) == [str(shed.small.pk)]
    assert preselected(shed.form(at=later, by=shed.manager)) == []
    assert preselected(shed.form(at=NOW + timedelta(hours=13))) == []


def test_a_round_told_again_has_the_wrenches_that_it_was_gone_with(shed):
    saved = shed.saved(shed.small)

    form = shed.form(at=NOW + timedelta(days=3), by=shed.manager, corrects=saved.round.pk)

    assert preselected(form) == [str(shed.small.pk)]


def test_a_part_names_all_wrenches_carried(shed):
    shed.saved(shed.big, shed.small)

    [part] = register.parts["joints"].model.objects.all()
    assert part.wrench == "TW-1, TW-2"


def test_a_hub_shows_no_figure_until_its_bearing_is_known(shed):
    assert shed.card("hub nut")["hub"] == "unknown"
    unknown = shed.looks(shed.big, hub_nut={"bearing": ""})["hub nut"]
    assert (unknown.lacks, unknown.target_nm, unknown.hub_bearing) == ("bearing", None, None)

    shed.saved(shed.big, hub_nut={"bearing": "sealed"})
    later = shed.form(at=NOW + HOUR)
    assert shed.card("hub nut", later)["hub"] == "sealed"
    assert "bearing" not in shed.card("hub nut", later)


def test_a_round_told_late_takes_the_bearing_that_was_told_since(shed):
    shed.saved(shed.big, hub_nut={"bearing": "sealed"})
    before = shed.looks(shed.big, at=NOW + HOUR, done_at=NOW - HOUR)["hub nut"]
    assert (before.hub_bearing, before.lacks) == ("sealed", None)

    fit(shed.cart, shed.fitting.kit, by=shed.manager, at=NOW + 2 * HOUR)
    shed.saved(shed.big, at=NOW + 3 * HOUR, hub_nut={"bearing": "taper"})
    at_other_lift = shed.looks(shed.big, at=NOW + 4 * HOUR, done_at=NOW - HOUR)["hub nut"]
    assert (at_other_lift.hub_bearing, at_other_lift.lacks) == (None, "bearing")


def test_a_sealed_hub_has_its_target_and_a_taper_one_none(shed):
    sealed = shed.looks(shed.big, hub_nut={"bearing": "sealed", "pin": "renewed"})["hub nut"]
    taper = shed.looks(shed.big, hub_nut={"bearing": "taper", "pin": "renewed"})["hub nut"]

    assert (sealed.lacks, sealed.target_nm, sealed.wrench_id) == (None, 70, shed.big.pk)
    assert (taper.lacks, taper.target_nm, taper.wrench_id) == (None, None, None)
    assert taper.hub_bearing == "taper"


def test_a_target_that_no_sheet_gives_is_lacking_but_not_by_eye(shed):
    looks = shed.looks(shed.big)

    assert (looks["frame"].lacks, looks["block pin"].lacks) == ("target", None)
    assert looks["block pin"].wrench_state is None


def test_a_nut_taken_off_is_counted_with_the_times_before(shed):
    for day in (1, 2):
        shed.saved(shed.big, at=NOW + timedelta(days=day), shackle={"off": "on"})

    look = shed.looks(shed.big, at=NOW + timedelta(days=3), shackle={"off": "on"})["shackle"]

    assert (look.nut_off, look.removals, look.removals_allowed) == (True, 3, 2)
    assert look.is_always_new
    assert shed.looks(shed.big)["lugs"].nut_off is None


def test_looks_in_a_row_are_copied_in(shed):
    slack = {"found": "slack", "action": "tightened", "right": "yes"}
    for day in (1, 2):
        shed.saved(shed.big, at=NOW + timedelta(days=day), U_bolts=slack)

    looks = shed.looks(shed.big, at=NOW + timedelta(days=3))

    assert (looks["U-bolts"].loose_before, looks["U-bolts"].clean_since) == (2, 0)
    assert (looks["lugs"].loose_before, looks["lugs"].clean_since) == (0, None)


def test_work_told_late_does_not_count_what_was_found_since(shed):
    slack = {"found": "slack", "action": "tightened", "right": "yes"}
    shed.saved(shed.big, at=NOW + HOUR, U_bolts=slack)

    looks = shed.looks(shed.big, at=NOW + 3 * HOUR, done_at=NOW)

    assert looks["U-bolts"].loose_before == 0


@pytest.mark.parametrize(("late", "stage"), [(None, "recurring"), (HOUR, "settling")])
def test_work_told_late_is_of_the_stage_of_its_day(shed, late, stage):
    form = shed.form(shed.sent(shed.big), stage="recurring")
    assert form.is_valid()
    row = Round(id=ROUND_ID, cart=shed.cart, site=shed.site)
    fields = {"cart_id": shed.cart.pk, "done_at": late and NOW - late}

    [(part, _looks)] = register.parts["joints"].facts(row, form, fields)

    assert part.stage == stage


def test_an_adapter_is_kept_where_one_may_be(shed):
    looks = shed.looks(shed.big, lugs={"adapter": "90"})

    assert (looks["lugs"].adapter_deg, looks["U-bolts"].adapter_deg) == (90, None)
    assert "adapter" not in shed.card("frame")


def test_a_moved_joint_says_the_most_clamp_lost_and_nothing_else_for_it(shed):
    moved = {"found": "took up", "moved": "2", "action": "tightened", "right": "yes"}
    saved = shed.saved(shed.big, U_bolts=moved)

    rows = {row["item"]: row for row in register.parts["joints"].rows(_parts())}
    assert rows["U-bolts"]["detail"] == (
        "moved 2/12 of a turn; action tightened; right when left; wrench TW-1; "
        "clamp lost: at most 100 %"
    )
    [outcome] = saved.outcomes
    assert (outcome.tag, "u-bolts" in outcome.pieces) == ("", True)


def _parts():
    return register.parts["joints"].model.objects.all()


def test_the_card_says_what_was_found_last(shed):
    assert shed.card("lugs")["last"] == ""
    shed.saved(shed.big)

    assert shed.card("lugs", shed.form(at=NOW + HOUR))["last"] == "last time FIRM, 03/04/2026"


def test_the_sheet_on_paper_names_the_figure_and_asks_the_bearing(shed):
    about = {name: said for name, _choices, said in shed.form().on_paper()}

    assert about["lugs"] == "80 N·m · 4 × 1/2-20 5 · order 1-3-2-4, clockwise from any nut"
    assert about["hub nut"].startswith("hub bearing: sealed or taper?")
    assert about["block pin"] == "2"
