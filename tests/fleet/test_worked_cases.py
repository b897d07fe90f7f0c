"""The rule book at work on one cart, from recorded facts to its rows."""

from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from fleet.actions import meters, project, register
from fleet.due import state_on
from fleet.models import Cart, Recheck
from lifts import actions as lift_actions
from lifts.models import BrakeCheck, Fitting
from lifts.parts.brake import Brake
from tests import answered as answers
from tests.lift_factories import a_cart, a_site, kit_value
from tests.visiting import EVERYTHING, parts_of, visit

NEW_YORK = ZoneInfo("America/New_York")
METRES_A_MILE = Decimal("1609.344")

pytestmark = pytest.mark.django_db


def ny(day, hour=9, minute=0):
    return datetime(2026, *day, hour, minute, tzinfo=NEW_YORK)


class Told:
    """Cart 71, fitted on 2 March at 412.0 h and 1,850.0 mi, its fitting closed that day."""

    def __init__(self):
        self.site, self.by = a_site(at=ny((2, 1)))
        self.kit = lift_actions.add_kit(self.site, kit_value(), by=self.by, at=ny((2, 1)))
        self.cart = a_cart(self.site, self.by, "71", at=ny((2, 1)), use_class="rental")
        for measure, start, unit in (("hours", "400", "h"), ("distance", "1800", "mi")):
            meters.fit_meter(
                self.cart, measure, Decimal(start), unit=unit, by=self.by, at=ny((2, 1))
            )
        lift_actions.fit(self.cart, self.kit, by=self.by, at=ny((3, 2), 8), paperwork="full")
        self.visit(EVERYTHING, ny((3, 2), 10), hours=Decimal("412.0"), distance=Decimal("1850.0"))

    def visit(self, names, at, **about):
        looked = {"looks", "families", "stage"}
        how = {name: about.pop(name) for name in looked & about.keys()}
        return visit(self.cart, parts_of(self.kit, names, **how), by=self.by, at=at, **about)

    def read(self, day, hours=None, distance=None):
        values = {"hours": hours, "distance": distance}
        given = {name: Decimal(value) for name, value in values.items() if value is not None}
        meters.add_reading(self.cart, by=self.by, at=ny(day, 18), **given)

    def due(self, kind, subject=""):
        rows = Recheck.objects.active().filter(cart=self.cart, kind_code=kind, subject=subject)
        return rows.order_by("due_on").first()


@pytest.fixture
def told():
    return Told()


@pytest.mark.parametrize(
    ("kind", "hours", "miles", "day"),
    [
        ("first-check", "417.0", "1875.0", date(2026, 3, 5)),
        ("settle-check", "437.0", "1950.0", date(2026, 4, 1)),
        ("second-settle-check", "512.0", "2350.0", date(2026, 5, 31)),
    ],
)
def test_a_closed_fitting_starts_the_three_checks(told, kind, hours, miles, day):
    row = told.due(kind)

    assert row.due_hours == Decimal(hours)
    assert row.due_metres == Decimal(miles) * METRES_A_MILE
    assert row.calendar_due_on == day


def test_a_reading_past_the_stop_stops_the_cart(told):
    told.read((3, 4), hours="422.0")

    row = told.due("first-check")

    assert state_on(row, date(2026, 3, 4)) == "stopped"


def test_with_little_use_the_short_check_falls_due_and_the_settle_check_waits(told):
    told.visit(("joints", "brake", "label"), ny((3, 4)), hours=Decimal("413.0"))
    told.read((4, 1), hours="415.0", distance="1862")

    short, settle = told.due("short-check"), told.due("settle-check")

    assert state_on(short, date(2026, 4, 1)) == "due"
    assert short.stops_on is None
    assert state_on(settle, date(2026, 4, 1)) == "ahead"


def test_a_wheel_off_is_that_wheels_lugs_alone(told):
    told.read((4, 3), hours="440.0", distance="1960")

    lift_actions.take_wheel_off(told.cart, "left front", by=told.by, at=ny((4, 3), 19))

    row = told.due("wheel-lugs", "left front")
    assert (row.due_hours, row.due_metres) == (Decimal("445"), Decimal(1985) * METRES_A_MILE)
    assert row.calendar_due_on == date(2026, 4, 6)
    assert Recheck.objects.active().filter(kind_code="wheel-lugs").count() == 1


def test_a_round_at_half_past_eleven_of_the_due_day_is_on_time(told):
    told.read((3, 4), hours="413.5")

    saved = told.visit(("joints", "brake", "label"), ny((3, 5), 23, 30), hours=Decimal("414.0"))

    closed = {row.kind_code: row.ended_state for row in saved.closed}
    assert closed["first-check"] == "due"


def test_a_slack_u_bolt_keeps_the_check_open_and_tags_the_cart(told):
    def slack(joint):
        return {"found": "slack", "right_after": False} if joint.family == "u-bolts" else {}

    saved = told.visit(("joints", "brake", "label"), ny((3, 4)), looks=slack)

    assert "first-check" not in {row.kind_code for row in saved.closed}
    assert Cart.objects.get(pk=told.cart.pk).is_tagged
    assert told.due("first-check")


def test_a_missing_label_stops_the_cart_after_a_day(told):
    missing = [*parts_of(told.kit, ("joints", "brake")), answers.label(in_place=False)]

    visit(told.cart, missing, by=told.by, at=ny((3, 4)), hours=Decimal("413.0"))

    row = told.due("label-check")
    assert state_on(row, date(2026, 3, 4)) == "open"
    assert state_on(row, date(2026, 3, 5)) == "stopped"


def test_a_stop_run_is_told_as_a_share_of_gravity(told):
    # v = 12.192 m / 2.0 s, d = 4.267 m: v^2 / (2 d g) = 0.444
    row = BrakeCheck.objects.get(cart=told.cart)

    said = dict((item, detail) for item, _found, detail in Brake().said(row, []))

    assert said["stop run 1"] == "40 ft in 2 s: 0.44 g"


def test_removing_the_lift_ends_its_rechecks(told):
    fitting = Fitting.objects.get(cart=told.cart)

    lift_actions.remove_lift(fitting, "sold without it", by=told.by, at=ny((4, 1)))

    assert not Recheck.objects.active().filter(cart=told.cart).exists()
    reasons = Recheck.objects.filter(cart=told.cart, ended="void").values_list("void_reason")
    assert set(reasons) == {("lift removed",)}


def test_bigger_tyres_call_for_speed_brake_and_lugs(told):
    told.read((4, 2), hours="430")

    register.change_tyres(told.cart, "22x11-10", Decimal("558.8"), by=told.by, at=ny((4, 3)))

    active = Recheck.objects.active().filter(cart=told.cart, due_on__lte=date(2026, 4, 3))
    assert {"speed-run", "brake-check"} <= set(active.values_list("kind_code", flat=True))


def test_the_rows_are_what_the_facts_say(told):
    assert project.differences([told.cart.pk]) == []


def test_a_row_that_was_changed_by_hand_is_reported(told):
    Recheck.objects.filter(cart=told.cart, kind_code="first-check").update(due_on=date(2027, 1, 1))

    assert len(project.differences([told.cart.pk])) == 1
