from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from fleet.actions import meters, project, register, sites
from fleet.default_rules import book_from_json
from fleet.gather import ground_of, history_of
from fleet.models import Cart, CartNumber
from fleet.standing import facts_of
from shared.models import Change, Entry, Membership, Person, Role
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def harbour():
    return a_site()


def test_join_cart_refuses_a_number_in_force(harbour):
    site, by = harbour
    a_cart(site, by, "7")

    with pytest.raises(register.NumberTaken, match="number 7"):
        a_cart(site, by, "7", at=MORNING + timedelta(days=1))


def test_a_number_differs_from_another_in_more_than_capitals(harbour):
    site, by = harbour
    a_cart(site, by, "A1")

    with pytest.raises(register.NumberTaken, match="number a1"):
        a_cart(site, by, "a1")


def test_a_number_may_be_used_again_once_its_cart_has_left(harbour):
    site, by = harbour
    old = a_cart(site, by, "7")
    register.leave(old, by=by, at=MORNING + timedelta(days=30))

    new = a_cart(site, by, "7", at=MORNING + timedelta(days=40))

    on = CartNumber.objects.filter(site=site, number="7")
    assert [row.cart_id for row in on.on(site.day(MORNING) + timedelta(days=3))] == [old.pk]
    assert [row.cart_id for row in on.on(site.day(MORNING) + timedelta(days=50))] == [new.pk]


@pytest.mark.parametrize("days", [-30, 10])
def test_a_cart_that_joined_before_another_left_gets_another_number(harbour, days):
    """Though the other came to carry it later only."""
    site, by = harbour
    old = a_cart(site, by, "7")
    register.leave(old, by=by, at=MORNING + timedelta(days=20))
    told = {"at": MORNING + timedelta(days=40), "done_at": MORNING + timedelta(days=days)}

    with pytest.raises(register.NumberTaken, match="number 7"):
        register.join_cart(site, {"number": "7"}, by=by, **told)


def test_change_cart_gives_another_number_from_that_day(harbour):
    site, by = harbour
    cart = a_cart(site, by, "7")

    register.change_cart(cart, "number", {"number": "70"}, by=by, at=MORNING + timedelta(days=9))

    spans = CartNumber.objects.filter(cart=cart).values_list("number", "from_day", "to_day")
    assert list(spans) == [
        ("7", date(2026, 3, 2), date(2026, 3, 10)),
        ("70", date(2026, 3, 11), None),
    ]
    assert Cart.objects.get(pk=cart.pk).number == "70"


def test_lay_up_and_wake_show_in_the_condition(harbour):
    site, by = harbour
    cart = a_cart(site, by)

    register.lay_up(cart, by=by, at=MORNING + timedelta(days=1))
    resting = Cart.objects.get(pk=cart.pk).condition
    register.wake(cart, by=by, at=MORNING + timedelta(days=2))

    assert (resting, Cart.objects.get(pk=cart.pk).condition) == ("laid up", "in use")


def test_a_cart_moved_westward_may_wake_on_the_day_before_there():
    site, by = a_site("east", zone="Pacific/Auckland")
    west, _ = a_site("west", zone="Pacific/Honolulu")
    cart = a_cart(site, by, "7")
    register.lay_up(cart, by=by, at=MORNING + timedelta(hours=1))
    register.move_cart(cart, west, by=by, at=MORNING + timedelta(hours=2))

    register.wake(Cart.objects.get(pk=cart.pk), by=by, at=MORNING + timedelta(hours=3))

    assert Cart.objects.get(pk=cart.pk).condition == "in use"
    assert project.differences([cart.pk]) == []


def test_move_cart_is_known_at_both_sites(harbour):
    site, by = harbour
    other, _ = a_site("lake")
    cart = a_cart(site, by)

    register.move_cart(cart, other, by=by, at=MORNING + timedelta(days=1))

    assert Cart.objects.get(pk=cart.pk).site == other
    kinds = Change.objects.filter(cart_id=cart.pk).values_list("site__slug", "what")
    assert set(kinds) == {("harbour", "joined"), ("harbour", "moved away"), ("lake", "moved")}
    assert project.differences([cart.pk]) == []


def test_the_journal_has_every_change_without_a_gap(harbour):
    site, by = harbour
    cart = a_cart(site, by)
    register.change_cart(cart, "bay", {"bay": "B2"}, by=by, at=MORNING)

    numbers = Entry.objects.filter(site=site).order_by("seq").values_list("seq", flat=True)

    assert list(numbers) == list(range(1, len(numbers) + 1))


def test_a_replaced_hour_meter_counts_on(harbour):
    site, by = harbour
    cart = a_cart(site, by)
    meters.fit_meter(cart, "hours", Decimal("1200"), unit="h", by=by, at=MORNING)
    later = MORNING + timedelta(days=10)

    meters.fit_meter(cart, "hours", 0, unit="h", by=by, at=later, old_final=Decimal("1204.6"))
    meters.add_reading(cart, by=by, at=later + timedelta(days=9), hours=Decimal("30.0"))

    row = Cart.objects.get(pk=cart.pk)
    assert (row.hours_shown, row.hours_life) == (Decimal("30"), Decimal("1234.6"))
    assert row.hours_at(Decimal("1300")) == Decimal("95.4")


def test_a_wheel_driven_meter_under_reads_on_bigger_tyres(harbour):
    site, by = harbour
    cart = a_cart(site, by, tyre_mm="457.2")
    about = {"unit": "mi", "by": by, "wheel_driven": True, "set_for_mm": Decimal("457.2")}
    meters.fit_meter(cart, "distance", Decimal("1000"), at=MORNING, **about)
    register.change_tyres(cart, "22x11-10", Decimal("558.8"), by=by, at=MORNING)

    later = MORNING + timedelta(days=20)
    meters.add_reading(cart, by=by, at=later, distance=Decimal("1082"))

    run_miles = Cart.objects.get(pk=cart.pk).metres_life / Decimal("1609.344") - 1000
    assert round(run_miles, 1) == Decimal("100.2")


def test_a_reading_sent_again_is_answered_the_same(harbour):
    site, by = harbour
    cart = a_cart(site, by)
    once = {"by": by, "id": uuid4(), "hours": Decimal("12.5")}

    first = meters.add_reading(cart, at=MORNING, **once)
    again = meters.add_reading(cart, at=MORNING + timedelta(minutes=3), **once)

    assert (first.pk, first.received_at) == (again.pk, again.received_at)
    assert Entry.objects.filter(fact_id=first.pk).count() == 1


def test_put_off_projects_once_at_the_end(harbour):
    site, by = harbour
    cart = a_cart(site, by)

    with project.put_off():
        register.change_cart(cart, "bay", {"bay": "C1"}, by=by, at=MORNING)
        before = Cart.objects.get(pk=cart.pk).bay
    after = Cart.objects.get(pk=cart.pk).bay

    assert (before, after) == ("", "C1")


def test_found_site_begins_with_a_manager_and_a_rule_book(harbour):
    site, _ = harbour

    assert Membership.objects.get(site=site).role == Role.MANAGER
    assert site.rule_books.get().version == 1
    assert Person.objects.get().home_site == site


def test_change_rules_keeps_the_earlier_version(harbour):
    site, by = harbour
    rules = site.rule_books.get().rules

    sites.change_rules(site, rules, reason="Closer to the sea", by=by, at=MORNING)

    assert list(site.rule_books.values_list("version", "reason")) == [
        (1, "Default rules"),
        (2, "Closer to the sea"),
    ]


def test_give_role_again_replaces_the_role_in_force(harbour):
    site, by = harbour
    person = sites.add_person("kit@example.org", "Kit", site)
    sites.give_role(site, person, Role.DESK, site.day(MORNING), None, by=by, at=MORNING)

    sites.give_role(site, person, Role.MECHANIC, site.day(MORNING), None, by=by, at=MORNING)

    assert [row.role for row in person.memberships.all()] == ["mechanic"]
    assert Change.objects.filter(what="role", person=person).count() == 2


def test_a_cart_that_joined_before_the_first_rule_book_runs_by_that_one(harbour):
    site, by = harbour
    first = site.rule_books.get()
    averages = {**first.rules["averages"], "rental": ["9", "90000"]}
    later = {**first.rules, "averages": averages}
    sites.change_rules(site, later, reason="Busier", by=by, at=MORNING + timedelta(days=9))
    early = MORNING - timedelta(days=30)
    cart = register.join_cart(site, {"number": "8"}, by=by, at=MORNING, done_at=early)

    facts = facts_of([cart.pk])[cart.pk]
    books = history_of(facts, ground_of([facts])).books

    assert books[0].at == early
    assert books[0].book == book_from_json(first.rules)


def read_in_miles(site, by):
    cart = a_cart(site, by, "7")
    read = {"by": by, "at": MORNING, "done_at": MORNING - timedelta(days=1)}
    meters.add_reading(cart, distance=Decimal(1000), **read)
    return cart


def metres(cart):
    return Cart.objects.get(pk=cart.pk).metres_life


def test_miles_stay_miles_when_the_site_turns_to_kilometres(harbour):
    site, by = harbour
    cart = read_in_miles(site, by)

    sites.change_site(site, {"units": "metric"}, by=by, at=MORNING)
    meters.add_reading(cart, distance=Decimal(1010), by=by, at=MORNING + timedelta(days=1))

    assert metres(cart) == Decimal("1010") * Decimal("1609.344")
    assert Cart.objects.get(pk=cart.pk).distance_unit == "mi"
    assert project.differences([cart.pk]) == []


def test_a_cart_keeps_its_miles_at_a_site_that_counts_kilometres(harbour):
    site, by = harbour
    metric, _ = a_site("metric", units="metric")
    cart = read_in_miles(site, by)

    register.move_cart(cart, metric, by=by, at=MORNING + timedelta(days=1))
    moved = Cart.objects.get(pk=cart.pk)
    meters.add_reading(moved, distance=Decimal(1010), by=by, at=MORNING + timedelta(days=2))

    assert metres(cart) == Decimal("1010") * Decimal("1609.344")


def test_a_site_that_moves_its_clock_has_its_days_worked_out_anew(harbour):
    site, by = harbour
    cart = a_cart(site, by, "7")

    sites.change_site(site, {"zone": "Pacific/Auckland"}, by=by, at=MORNING)

    assert Cart.objects.get(pk=cart.pk).joined_on == date(2026, 3, 3)
    assert project.differences([cart.pk]) == []
