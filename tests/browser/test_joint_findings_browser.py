"""Each finding that does not close, on a phone: saved, said why, still open, in the journal."""

import json
from datetime import timedelta

import pytest
from django.urls import reverse

from fleet.actions.tags import order_recheck
from fleet.models import Recheck, Tag
from lifts.actions import fit
from lifts.kit_lines import read_joints
from lifts.models import JointPart
from shared import clock
from shared.models import Entry, Role
from tests.browser.conftest import PHONE, session_of
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.wrench_factories import a_good_wrench, a_wrench

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SCREEN = {"viewport": PHONE, "has_touch": True, "reduced_motion": "reduce"}
NOW = MORNING + timedelta(days=1)
JOINT_LINES = """\
joint | family | wheel | count | thread | grade | target | locker | locking | grip
left front lugs | lugs | left front | 4 | 1/2-20 | 5 | 75 N.m | | | 16 mm
left U-bolts | u-bolts | | 4 | M10 | 8.8 | 35 N.m | |
left tie-rod end | steering-joints | | 1 | taper | | 40 N.m | | pin
hub nut | hub-nuts | | 1 | spindle | | 70 N.m | | pin
front frame | other-joints | | 2 | M10 | 8.8 | {target} | medium |
"""

BROKEN = """labels => labels.filter(label => label.innerText).filter(label => {
  const range = document.createRange();
  range.selectNodeContents(label.lastChild);
  return range.getClientRects().length > label.innerText.trim().split(/[ -]/).length;
}).map(label => label.innerText)"""


class Yard:
    """A lifted cart that is asked for a joint round and for nothing else."""

    def __init__(self, *, bearing="sealed", target="40 N.m", wrench=a_good_wrench):
        self.site, self.manager = a_site(units="metric")
        self.mechanic = with_role(self.site, self.manager, Role.MECHANIC)
        wrench(self.site, self.manager)
        lines = read_joints(JOINT_LINES.format(target=target), "N.m")
        kit = a_kit(self.site, self.manager, joints=lines)
        self.cart = a_cart(self.site, self.manager, "7")
        who = {"by": self.manager, "at": MORNING}
        # a lift that was brought in starts no clocks of its own
        fit(self.cart, kit, hub_bearing=bearing, brought_in=True, **who)
        self.day = self.site.day(NOW)
        order_recheck(self.cart, "joint-round", self.day, reason="After the gale", **who)

    def is_open(self):
        """Whether the joint round that was ordered is asked for still."""
        ordered = Recheck.objects.active().filter(kind_code="joint-round", due_on=self.day)
        return ordered.exists()

    def entry(self):
        """Return what the journal holds of the last part with joints, by the joints' names."""
        entry = Entry.objects.get(fact_id=JointPart.objects.latest("done_at").pk)
        return {line["name"]: line for line in json.loads(bytes(entry.body))["lines"]}


@pytest.fixture
def open_round(screens, monkeypatch):
    """Return a way to open the round's page of a yard as its mechanic."""
    monkeypatch.setattr(clock, "now", lambda: NOW)

    def opened(yard):
        page = screens.page(session=session_of(yard.mechanic), **SCREEN)
        page.goto(reverse("round-create", args=[yard.site.slug, yard.cart.pk]))
        page.get_by_label("I have seen these").check()
        return page

    return opened


def card_of(page, joint):
    return page.locator(".card", has=page.locator("legend", has_text=joint))


def press_good(page):
    """Press every joint firm with its pin left alone, and the one wrench carried."""
    page.locator("[name=joints-wrenches]").check()
    for choice in page.locator("input[value=firm], input[value=undisturbed]").all():
        choice.check()


def save(page):
    page.get_by_role("button", name="Save the round").click()
    page.get_by_text("Saved.").wait_for()


def reasons(page, work="Joint round"):
    """Return why a piece of work is still called for, as the page says it."""
    return page.locator(f"h2:text-is('Still called for') + ul > li:has-text('{work}') ul li").all()


def said(page):
    return [reason.inner_text() for reason in reasons(page)]


def test_all_firm_closes_the_joint_round(open_round):
    yard = Yard()
    page = open_round(yard)
    press_good(page)

    save(page)

    assert page.locator("h2:text-is('Closed') + ul").inner_text().startswith("Joint round")
    assert not yard.is_open()
    assert page.complaints == []


def took_up(page, joint, right):
    card = card_of(page, joint)
    card.locator("input[value='took up']").check()
    card.locator("input[name*='-moved-'][value='2']").check()
    card.locator("input[value='tightened']").check()
    card.locator(f"input[name*='-right-'][value='{right}']").check()


def lock_only_tightened(page):
    took_up(page, "front frame", "yes")


def nut_backed_off(page):
    card = card_of(page, "left tie-rod end")
    card.locator("input[value='renewed']").check()
    card.locator("summary").click()
    card.get_by_label("The nut was backed off to fit the pin").check()


def pin_not_renewed(page):
    card_of(page, "left tie-rod end").locator("input[value='pulled, not renewed']").check()


def wheel_not_finished(page):
    took_up(page, "left front lugs", "no")


def no_wrench(page):
    page.locator("[name=joints-wrenches]").uncheck()


def nothing_else(page):
    """All was found firm: what does not close is what is not known."""


# the pins of the others stay in, so that no wrench is put to them
TURNED = ("left front lugs", "left U-bolts", "front frame")
CASES = {
    "bond broken": (
        {},
        lock_only_tightened,
        ["front frame: the thread-lock bond is broken; strip, clean and lock it again"],
        ("front frame", "found", "took up"),
    ),
    "castle nut backed off": (
        {},
        nut_backed_off,
        ["left tie-rod end: castle nut backed off to fit the pin"],
        ("left tie-rod end", "backed_off", True),
    ),
    "pin pulled": (
        {},
        pin_not_renewed,
        ["left tie-rod end: pin pulled and no new one fitted"],
        ("left tie-rod end", "pin", "pulled, not renewed"),
    ),
    "bearing unknown": (
        {"bearing": None},
        nothing_else,
        ["hub nut: hub bearing type unknown, so no figure to tighten to"],
        ("hub nut", "lacks", "bearing"),
    ),
    "wheel not finished": (
        {},
        wheel_not_finished,
        ["left front lugs: took up, and the whole wheel was not gone round again"],
        ("left front lugs", "found", "took up"),
    ),
    "target unknown": (
        {"target": ""},
        nothing_else,
        ["front frame: no target: kit sheet needed"],
        ("front frame", "lacks", "target"),
    ),
    "no wrench": (
        {},
        no_wrench,
        [f"{joint}: no wrench named" for joint in TURNED],
        ("left front lugs", "wrench_state", "unnamed"),
    ),
    "wrench out of date": (
        {"wrench": a_wrench},
        nothing_else,
        [f"{joint}: done with a wrench that is out of date" for joint in TURNED],
        ("left front lugs", "wrench_state", "due"),
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_what_does_not_close_says_why_and_is_kept(open_round, case):
    about, press, why, (joint, name, value) = CASES[case]
    yard = Yard(**about)
    page = open_round(yard)
    press_good(page)
    press(page)

    save(page)

    assert said(page) == why
    assert yard.is_open()
    assert yard.entry()[joint][name] == value
    assert page.complaints == []


def test_a_broken_bond_is_locked_again_within_five_hours_of_use(open_round):
    yard = Yard()
    page = open_round(yard)
    press_good(page)
    lock_only_tightened(page)

    save(page)

    [again] = Recheck.objects.active().filter(kind_code="lock-again")
    assert again.subject == "front frame"
    assert page.get_by_text("Lock the joint again").first.is_visible()
    assert Tag.objects.count() == 0


def test_a_castle_nut_backed_off_tags_the_cart(open_round):
    yard = Yard()
    page = open_round(yard)
    press_good(page)
    nut_backed_off(page)

    save(page)

    answer = page.locator(".answer-no")
    assert answer.locator("strong").inner_text() == "TAGGED"
    assert "castle nut backed off to fit the pin" in answer.inner_text()


def test_no_answer_breaks_within_a_word(open_round):
    page = open_round(Yard())

    broken = page.eval_on_selector_all(".press div > label", BROKEN)

    assert broken == []


def test_a_hub_shows_its_figure_once_its_bearing_is_pressed(open_round):
    page = open_round(Yard(bearing=None))
    card = card_of(page, "hub nut")
    assert not card.get_by_text("70 N·m", exact=True).is_visible()

    card.locator("label:has(input[value=taper])").click()
    assert card.get_by_text("Taper rollers: seat, back off").is_visible()
    assert not card.get_by_text("70 N·m", exact=True).is_visible()

    card.locator("label:has(input[value=sealed])").click()
    assert card.get_by_text("70 N·m", exact=True).is_visible()


def test_what_the_clamp_may_have_lost_informs_and_tags_nothing(open_round):
    yard = Yard()
    page = open_round(yard)
    press_good(page)
    took_up(page, "left front lugs", "yes")

    save(page)

    page.get_by_text("Joints", exact=True).click()
    told = page.locator("tr:has-text('left front lugs')").inner_text()
    # a lug of 16 mm loses all its clamp within some 7 degrees
    assert "clamp lost: at most 100 %" in told
    assert Tag.objects.count() == 0
    assert not yard.is_open()
