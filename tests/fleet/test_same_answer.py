"""A question about the past, asked again after more was told, is answered the same."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule, run_state_machine_as_test

from fleet.actions import meters, register, sites, tags
from fleet.actions.corrections import move_round, strike_entry, strike_round
from fleet.kinds import Cut
from lifts import actions as lifts
from lifts.models import Fitting, Kit
from shared.facts import correction_of, record
from shared.models import Entry
from tests.factories import MORNING
from tests.fleet.asking import answers
from tests.fleet.test_any_actions import Yard
from tests.lift_factories import a_cart, a_kit, a_site, kit_value
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
ZONES = ("America/New_York", "America/Los_Angeles", "Pacific/Auckland", "Europe/London")
DAY = timedelta(days=1)


class Asked(Yard):
    """The yard of any actions, asked in between about moments gone by."""

    def __init__(self):
        super().__init__()
        self.asked = []

    @rule(back=st.sampled_from([0, 0, 30, 400]), unknown=st.sampled_from([0, 0, 5, 100]))
    def ask(self, back, unknown):
        happened_by = self.at - timedelta(hours=back)
        cut = Cut(happened_by, max(MORNING, self.at - timedelta(hours=unknown)))
        for site in (self.site, self.island):
            self.asked.append((site, cut, answers(site, self.ids, cut)))

    @precondition(Yard.is_here)
    @rule(back=st.sampled_from([2, 30, 300]), parts=st.sampled_from([("joints",), ("label",)]))
    def do_a_round_and_tell_it_late(self, back, parts):
        fitted = self.cart().is_lifted
        done_at = self.at - timedelta(hours=back)
        if fitted:
            a_round(self.cart(), parts=parts, done_at=done_at, **self.who())

    @rule(back=st.sampled_from([1, 50]))
    def put_a_tag_on_and_tell_it_late(self, back):
        done_at = self.at - timedelta(hours=back)
        tags.tag_cart(self.cart(), "seen loose", done_at=done_at, **self.who())

    @rule(zone=st.sampled_from(ZONES), units=st.sampled_from(["inch", "metric"]))
    def change_the_site(self, zone, units):
        self.site.refresh_from_db()
        values = {"zone": zone, "units": units, "date_order": "dmy", "name": zone}
        who = self.who() | {"by": self.manager}
        sites.change_site(self.site, values, **who)

    @rule(keep=st.sampled_from(["joint-round", "grease-round", "label-check"]))
    def change_the_rules(self, keep):
        rules = self.site.rule_books.order_by("version").last().rules
        fewer = [one for one in rules["rules"] if one["kind"] != keep]
        who = self.who() | {"by": self.manager}
        sites.change_rules(self.site, {**rules, "rules": fewer}, reason="Less", **who)

    @rule(edition=st.sampled_from("ABC"))
    def replace_the_kit(self, edition):
        value = kit_value(edition=edition, rise_front_mm="50")
        kit = Kit.objects.get(site=self.site, replaced_at=None)
        self.kit = lifts.replace_kit(kit, value, **self.who())

    def rows_are_what_the_facts_say(self):
        """Asked elsewhere."""

    def check_pages(self):
        if self.ids:
            self.ask(0, 0)
        self.at += timedelta(hours=1)
        for site, cut, said in self.asked:
            site.refresh_from_db()
            assert answers(site, self.ids, cut) == said


def test_after_any_actions_an_old_question_has_its_old_answer():
    run_state_machine_as_test(
        Asked,
        settings=settings(
            settings.default,
            max_examples=12,
            stateful_step_count=12,
            suppress_health_check=list(HealthCheck),
        ),
    )


class Told:
    """A lifted cart with a round, a reading and a tag, and what may be told of it later."""

    def __init__(self):
        self.site, self.manager = a_site()
        self.island, _ = a_site("island")
        self.whole_book = self.site.rule_books.get().rules
        fewer = [one for one in self.whole_book["rules"] if one["kind"] != "label-check"]
        sites.change_rules(
            self.site, {**self.whole_book, "rules": fewer}, reason="Less", **self.on(0)
        )
        self.kit = a_kit(self.site, self.manager)
        self.cart = a_cart(self.site, self.manager, seats=4)
        self.other = a_cart(self.site, self.manager, number="8", seats=4)
        meters.fit_meter(self.cart, "hours", Decimal(412), unit="h", **self.on(0))
        for cart in (self.cart, self.other):
            lifts.fit(cart, self.kit, **self.on(0))
        self.round = a_round(self.cart, **self.on(1)).round
        self.reading = meters.add_reading(self.cart, hours=Decimal(420), **self.on(3))
        self.tag = tags.tag_cart(self.cart, "seen loose", **self.on(4))
        tags.hand_back(self.tag, done="tight", repaired_by=None, **self.on(5))
        tags.report(self.other, "noise", **self.on(8))

    def on(self, days, **more):
        return {"by": self.manager, "at": MORNING + days * DAY, **more}

    def change_the_zone(self):
        sites.change_site(self.site, {"zone": "Pacific/Auckland"}, **self.on(20))

    def change_the_words_of_the_site(self):
        values = {"units": "metric", "date_order": "ymd", "name": "Haven", "closures": []}
        values |= {"start_day": date(2026, 1, 1), "mechanic_minutes_a_day": 60}
        sites.change_site(self.site, values, **self.on(20))

    def change_the_rules(self):
        sites.change_rules(self.site, self.whole_book, reason="As it was", **self.on(20))

    def replace_the_kit(self):
        lifts.replace_kit(self.kit, kit_value(edition="B", front="leaf"), **self.on(20))

    def read_late(self):
        done_at = MORNING + 6 * DAY
        meters.add_reading(self.cart, hours=Decimal(900), **self.on(20, done_at=done_at))

    def correct_the_reading(self):
        again = correction_of(
            self.reading, reason="slip", by=self.manager, hours_shown=Decimal(900)
        )
        record(again, at=MORNING + 20 * DAY)

    def strike_the_reading(self):
        strike_entry(self.cart, self.entry(self.reading), reason="slip", **self.on(20))

    def strike_the_hand_back(self):
        back = self.tag.hand_backs.get()
        strike_entry(self.cart, self.entry(back), reason="slip", **self.on(20))

    def strike_the_round(self):
        strike_round(self.round, reason="slip", **self.on(20))

    def move_the_round(self):
        move_round(self.round, self.other, reason="wrong cart", **self.on(20))

    def do_a_round_and_tell_it_late(self):
        a_round(self.cart, **self.on(20, done_at=MORNING + 6 * DAY))

    def put_a_tag_on_and_tell_it_late(self):
        tags.tag_cart(self.other, "slack", **self.on(20, done_at=MORNING + 6 * DAY))

    def change_the_register(self):
        value = {"use_class": "owner", "number": "77", "bay": "B9"}
        register.change_cart(self.cart, "register", value, **self.on(20))

    def change_the_tyres_and_tell_it_late(self):
        register.change_tyres(self.cart, "big", 560, **self.on(20, done_at=MORNING + 2 * DAY))

    def lay_it_up_and_tell_it_late(self):
        register.lay_up(self.cart, **self.on(20, done_at=MORNING + 6 * DAY))

    def move_the_cart_away(self):
        register.move_cart(self.cart, self.island, **self.on(20))

    def leave(self):
        register.leave(self.cart, **self.on(20))

    def take_the_lift_off(self):
        fitting = Fitting.objects.select_related("cart").get(cart=self.cart)
        lifts.remove_lift(fitting, "sold", **self.on(20))

    def entry(self, fact):
        return Entry.objects.get(fact_id=fact.pk)


LATER = sorted(name for name in vars(Told) if name not in ("on", "entry") and name[0] != "_")
NOW = Cut(MORNING + 30 * DAY, MORNING + 30 * DAY)
WITHIN = {
    "known then": Cut(MORNING + 9 * DAY, MORNING + 9 * DAY),
    "known a week after": Cut(MORNING + 4 * DAY, MORNING + 16 * DAY),
}


@pytest.mark.parametrize("later", LATER)
def test_what_is_told_later_changes_no_earlier_answer(later):
    told = Told()
    ids = [told.cart.pk, told.other.pk]
    before = {name: answers(told.site, ids, cut) for name, cut in WITHIN.items()}
    known_now = answers(told.site, ids, NOW)

    getattr(told, later)()

    told.site.refresh_from_db()
    assert {name: answers(told.site, ids, cut) for name, cut in WITHIN.items()} == before
    # a lift keeps the edition that it was fitted by; all else is told by now
    assert (answers(told.site, ids, NOW) != known_now) == (later != "replace_the_kit")
