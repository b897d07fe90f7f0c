"""Whatever is done to a cart, in whatever order, its rows are what its facts say."""

from contextlib import suppress
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from fleet.actions import meters, project, register, tags
from fleet.actions.corrections import correct_round, move_round, strike_round
from fleet.actions.countersigns import countersign_round
from fleet.actions.rounds import TakenDown
from fleet.as_of import cart_at, work_at
from fleet.board import in_order, rows_of
from fleet.desk import carts_for_desk, said_of
from fleet.fitted import BeforeFitting
from fleet.kinds import Cut
from fleet.kinds import register as kinds
from fleet.models import Cart, Countersign, Reading, Recheck, Round, Tag, WaitingRound
from fleet.standing import facts_of
from lifts import actions as lifts
from lifts.models import Fitting, Look
from lifts.wheels import Wheel
from shared.facts import correction_of, record, strike
from shared.models import Change, Entry, new_id
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.fleet.alignment_story import in_two_passes
from tests.fleet.recomputing import parts_of, recomputed, told_late
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.round_factories import EVERY_PART, a_round, told
from tests.spec_factories import a_spec

pytestmark = pytest.mark.django_db
JOINTS = ("left front lugs", "left tie-rod end", "left U-bolts", "front frame")
WHOLE_KINDS = sorted(
    code
    for code, kind in kinds.kinds.items()
    if not any("{subject}" in piece for piece in kind.content)
)
gaps = st.sampled_from([1, 7, 40, 200, 900, 3000]).map(lambda hours: timedelta(hours=hours))
parts = st.one_of(st.just(EVERY_PART), st.sets(st.sampled_from(EVERY_PART), min_size=1))
USES = st.sampled_from(["rental", "owner", "shore"])
found = st.dictionaries(st.sampled_from(JOINTS), st.sampled_from(Look.Found.values), max_size=2)


class Yard(RuleBasedStateMachine):
    """Two carts at two sites, and all that may be recorded of them."""

    def __init__(self):
        super().__init__()
        self.ids = []
        self.undo = transaction.atomic()
        self.undo.__enter__()

    def teardown(self):
        try:
            self.check_pages()
        finally:
            transaction.set_rollback(True)
            self.undo.__exit__(None, None, None)

    @initialize(days=st.lists(st.integers(1, 30), min_size=2, max_size=4))
    def begin(self, days):
        self.at = MORNING
        self.site, self.manager = a_site()
        self.island, _ = a_site("island")
        self.mechanic = with_role(self.site, self.manager)
        self.kit = a_kit(self.site, self.manager)
        self.ids = [a_cart(self.site, self.manager, number=n).pk for n in ("1", "2")]
        self.hours = Decimal(400)
        for cart_id in self.ids:
            meters.fit_meter(self.cart(cart_id), "hours", self.hours, unit="h", **self.who())
            lifts.fit(self.cart(cart_id), self.kit, **self.who())
        for gap in days:
            self.read(timedelta(days=gap), gap, False)

    def who(self, gap=None):
        self.at += gap or timedelta(minutes=5)
        return {"by": self.mechanic, "at": self.at}

    def cart(self, cart_id=None):
        return Cart.objects.select_related("site").get(pk=cart_id or self.ids[0])

    def is_here(self):
        cart = self.cart()
        return cart.condition != Cart.Condition.LEFT and cart.site_id == self.site.pk

    def standing(self, model):
        return model.objects.standing(self.at).filter(cart_id=self.ids[0])

    def lone_readings(self):
        return self.standing(Reading).filter(round_id=None).order_by("-done_at", "-id")

    @rule(gap=gaps, run=st.integers(-3, 60), estimated=st.booleans())
    def read(self, gap, run, estimated):
        self.hours = max(Decimal(0), self.hours + run)
        source = Reading.Source.ESTIMATED if estimated else Reading.Source.MECHANIC
        cart = self.cart()
        meters.add_reading(cart, hours=self.hours, source=source, **self.who(gap))

    @rule(back=gaps, figure=st.integers(380, 700))
    def read_long_ago(self, back, figure):
        cart = self.cart()
        meters.add_reading(cart, hours=figure, done_at=self.at - back, **self.who())

    @rule(shown=st.integers(0, 500), told=st.booleans())
    def change_the_meter(self, shown, told):
        old = self.hours if told else None
        self.hours = Decimal(shown)
        cart = self.cart()
        meters.fit_meter(cart, "hours", shown, unit="h", old_final=old, **self.who())

    @precondition(is_here)
    @rule(gap=gaps)
    def fit(self, gap):
        lifts.fit(self.cart(), self.kit, **self.who(gap))

    @precondition(is_here)
    @rule(gap=gaps, parts=parts, found=found)
    def do_a_round(self, gap, parts, found):
        if Fitting.objects.filter(cart=self.ids[0]).exists():
            a_round(self.cart(), parts=tuple(parts), found=found, **self.who(gap))

    @precondition(is_here)
    @rule(back=gaps, parts=parts, found=found)
    def do_a_round_and_write_it_late(self, back, parts, found):
        who = self.who(timedelta(hours=300))
        when = {"done_at": who["at"] - back, "opened_at": who["at"] - back}
        with suppress(BeforeFitting), transaction.atomic():
            a_round(self.cart(), parts=tuple(parts), found=found, **when, **who)

    @precondition(is_here)
    @rule(
        gap=gaps,
        step=st.sampled_from(["sleeve", "rod"]),
        lean=st.sampled_from([Decimal(0), Decimal("-0.5"), Decimal("-2.5")]),
        rear=st.sampled_from(["36 1/16", "36 3/8", "35 3/8"]),
        said=st.fixed_dictionaries(
            {
                "jam_nuts": st.booleans(),
                "after_kerb_hit": st.booleans(),
                "drive_pass": st.sampled_from([None, 2]),
            }
        ),
    )
    def turn_camber_or_toe(self, gap, step, lean, rear, said):
        sheet = in_two_passes(step, lean=lean, rear=rear, **said)
        with suppress(BeforeFitting), transaction.atomic():
            a_round(self.cart(), parts=(), ready=[sheet], **self.who(gap))

    @rule(place=st.sampled_from(["", "hx-4"]))
    def tell_camber_and_toe_figures(self, place):
        a_spec(self.site, self.manager, self.who()["at"], kit_code=place)

    @rule()
    def countersign(self):
        for waiting in WaitingRound.objects.filter(site=self.site):
            row = Round.objects.select_related("cart__site").get(pk=waiting.pk)
            who = self.who() | {"by": self.manager}
            countersign_round(row, reason="seen on paper", **who)

    @rule()
    def strike_a_countersign(self):
        for signed in self.standing(Countersign)[:1]:
            strike(signed, reason="never seen", site=self.cart().site, **self.who())
            project.carts(self.ids[:1])

    @precondition(is_here)
    @rule(place=st.integers(0, 2), back=gaps, parts=parts, found=found)
    def tell_a_round_again(self, place, back, parts, found):
        for row in self.standing(Round)[place : place + 1]:
            cart, who = self.cart(), self.who()
            done = [(told(code, cart, **_found(code, found)), None) for code in sorted(parts)]
            visit = TakenDown(new_id(), row.opened_at, row.done_at - back, parts=done)
            visit.corrects, visit.why_corrected = row.pk, "a slip"
            with suppress(BeforeFitting), transaction.atomic():
                correct_round(row, visit, **who)

    @rule()
    def put_a_tag_on(self):
        tags.tag_cart(self.cart(), "seen loose", **self.who())

    @rule()
    def hand_back(self):
        given = {one.tag_id for one in facts_of(self.ids)[self.ids[0]].hand_backs}
        for tag in self.standing(Tag).select_related("cart")[:3]:
            if tag.pk not in given:
                tags.hand_back(tag, done="mended", repaired_by=self.manager, **self.who())

    @rule(gap=gaps)
    def lay_up(self, gap):
        register.lay_up(self.cart(), **self.who(gap))

    @rule(gap=gaps)
    def wake(self, gap):
        register.wake(self.cart(), **self.who(gap))

    @precondition(is_here)
    @rule(wheel=st.sampled_from(Wheel.values))
    def take_a_wheel_off(self, wheel):
        lifts.take_wheel_off(self.cart(), wheel, **self.who())

    @rule(tyre_mm=st.integers(450, 600))
    def change_tyres(self, tyre_mm):
        register.change_tyres(self.cart(), f"{tyre_mm} mm", tyre_mm, **self.who())

    @rule(kind=st.sampled_from(WHOLE_KINDS), days=st.integers(0, 60), stops=st.booleans())
    def order(self, kind, days, stops):
        cart, who = self.cart(), self.who()
        due_on = cart.site.day(self.at) + timedelta(days=days)
        tags.order_recheck(cart, kind, due_on, stops=stops, reason="asked for", **who)

    @rule()
    def remove_the_lift(self):
        chapters = facts_of(self.ids)[self.ids[0]].chapters
        for chapter in chapters:
            if chapter.until_at is None:
                fitting = Fitting.objects.select_related("cart").get(pk=chapter.fitting_id)
                lifts.remove_lift(fitting, "sold", **self.who())

    @rule(use=USES, number=st.sampled_from("3456"))
    def change_the_register(self, use, number):
        value = {"use_class": use, "number": number}
        register.change_cart(self.cart(), "register", value, **self.who())

    @precondition(is_here)
    @rule(days=st.integers(0, 400), use=USES, number=st.sampled_from("3456"))
    def tell_again_how_it_joined(self, days, use, number):
        joining = self.standing(Change).get(what="joined")
        value = joining.value | {"use_class": use, "number": number}
        told = {"id": new_id(), "done_at": joining.done_at - timedelta(days=days)}
        cart, who = self.cart(), self.who()
        register.tell_joining_again(cart, joining, value, reason="read wrongly", **told, **who)

    @precondition(is_here)
    @rule()
    def move_away(self):
        register.move_cart(self.cart(), self.island, **self.who())

    @rule()
    def leave(self):
        register.leave(self.cart(), **self.who())

    @rule(place=st.integers(0, 1))
    def strike_a_reading(self, place):
        for reading in self.lone_readings()[place : place + 1]:
            strike(reading, reason="slip", site=self.cart().site, **self.who())
            project.carts(self.ids[:1])

    @rule(place=st.integers(0, 1), figure=st.integers(380, 700))
    def correct_a_reading(self, place, figure):
        for reading in self.lone_readings()[place : place + 1]:
            site = self.cart().site
            who = self.who()
            values = {"hours_shown": figure, "site_id": site.pk}
            again = correction_of(reading, reason="slip", by=who["by"], **values)
            record(again, at=who["at"])
            project.carts(self.ids[:1])

    @precondition(is_here)
    @rule(place=st.integers(0, 2))
    def strike_a_round(self, place):
        for row in self.standing(Round)[place : place + 1]:
            strike_round(row, reason="wrong cart", **self.who())

    @precondition(is_here)
    @rule(place=st.integers(0, 2))
    def move_a_round(self, place):
        for row in self.standing(Round)[place : place + 1]:
            other = self.cart(self.ids[1])
            with suppress(BeforeFitting), transaction.atomic():
                move_round(row, other, reason="wrong cart", **self.who())

    @invariant()
    def rows_are_what_the_facts_say(self):
        if self.ids:
            assert project.differences(self.ids) == []

    @invariant()
    def a_late_round_closes_nothing_unsigned(self):
        for waiting in WaitingRound.objects.filter(pk__in=Round.objects.values("pk")):
            assert not Countersign.objects.standing(self.at).filter(about=waiting.pk).exists()
            late = [told_late(fact) for fact in parts_of(waiting.pk)]
            assert any(late)
            if all(late):
                assert not Recheck.objects.filter(ended_by=waiting.pk, ended="closed").exists()

    def check_pages(self):
        if not self.ids:
            return
        for site in (self.site, self.island):
            today = site.day(self.at)
            board = list(rows_of(in_order(Recheck.objects.all(), site, today)))
            assert board == work_at(site, self.now())
            self.check_desk(site, today)

    def now(self):
        """Return the cut of now, by which page and question say the same."""
        return Cut(self.at, self.at)

    def check_desk(self, site, today):
        viewer = Viewer(self.manager, self.at)
        for cart in carts_for_desk(viewer, self.site, today) if site == self.site else ():
            said = said_of(cart, site)
            assert said.answer == recomputed(cart.pk, today)
            assert said == cart_at(site, cart.pk, self.now()).said


def _found(code, found):
    return {"found": found} if code == "joints" else {}


def test_after_any_actions_the_rows_are_what_the_facts_say():
    run_state_machine_as_test(
        Yard,
        settings=settings(
            settings.default,
            max_examples=16,
            stateful_step_count=14,
            suppress_health_check=list(HealthCheck),
        ),
    )


def test_the_actions_of_the_property_reach_every_kind_of_entry():
    yard = Yard()
    yard.begin(days=[7, 7])
    day = timedelta(days=1)
    yard.do_a_round(day, EVERY_PART, {})
    yard.do_a_round(day, ("joints",), {"left front lugs": "slack"})
    yard.turn_camber_or_toe(day, "rod", Decimal(0), "36 1/16", {"jam_nuts": True})
    yard.tell_camber_and_toe_figures("")
    yard.hand_back()
    yard.lay_up(day)
    yard.wake(day)
    yard.take_a_wheel_off("left front")
    yard.order("joint-round", 3, True)
    yard.strike_a_reading(0)
    yard.read(day, 4, False)
    yard.correct_a_reading(0, 404)
    yard.strike_a_round(0)
    yard.do_a_round_and_write_it_late(timedelta(hours=200), EVERY_PART, {})
    yard.countersign()
    yard.strike_a_countersign()
    yard.tell_a_round_again(0, day, ("label",), {})
    yard.remove_the_lift()
    yard.leave()
    kinds_told = set(Entry.objects.values_list("kind", flat=True))
    yard.teardown()

    assert {kind.split(".")[1] for kind in kinds_told} >= {
        "change",
        "meterfitted",
        "reading",
        "round",
        "tag",
        "handback",
        "recheckorder",
        "strike",
        "fitting",
        "removal",
        "wheeloff",
        "jointpart",
        "cambertoesheet",
        "alignmentspec",
        "countersign",
    }
