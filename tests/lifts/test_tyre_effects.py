"""Other tyres, told once: speed, stop, meter and stability follow, on the cart's page at once."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions import meters, register
from fleet.actions.rounds import TakenDown, save_round
from fleet.kinds import Cut
from fleet.kinds import register as kinds
from fleet.models import Cart, Recheck
from lifts.actions import fit
from lifts.actions.speed_classes import claim_class, set_usual
from lifts.tyre_effects import block
from shared import clock
from shared.models import Role, new_id
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.lift_factories import with_role
from tests.round_factories import a_round, told
from tests.stability_factories import a_measure

pytestmark = pytest.mark.django_db
D = Decimal
DAY = timedelta(days=1)
FITTED, CHANGED = MORNING + DAY, MORNING + 10 * DAY
MPH_KMH = D("1.609344")
MILE_M = D("1609.344")  # both exact: NIST SP 811 (2008) App. B.8


@pytest.fixture
def now(monkeypatch):
    """Set the clock: returns a function that takes the moment."""
    moments = [CHANGED]
    monkeypatch.setattr(clock, "now", lambda: moments[-1])
    return moments.append


@pytest.fixture
def lifted(site, manager, kit, cart, now):
    """A cart on 18 in tyres with a wheel meter set for them, closed out, at 17 mph."""
    who = {"by": manager, "at": MORNING}
    meters.fit_meter(
        cart, "distance", D("1850"), unit="mi", wheel_driven=True, set_for_mm=D("457.2"), **who
    )
    register.change_tyres(cart, "18x8.5-8", "457.2", **who)
    fit(cart, kit, by=manager, at=FITTED)
    a_round(cart, by=manager, at=FITTED + DAY)
    speed_run(cart, manager, "17.647", FITTED + 2 * DAY)
    return Cart.objects.select_related("site").get(pk=cart.pk)


def speed_run(cart, manager, time_s, at, **about):
    """Save two runs over 440 ft; 17.647 s is 17.00 mph."""
    times = {"time_1_s": D(time_s), "time_2_s": D(time_s), "length_m": D("134.112"), **about}
    visit = TakenDown(new_id(), opened_at=at, parts=[(told("speed", cart, **times), None)])
    save_round(cart, visit, by=manager, at=at)


def tell(client, cart, **typed):
    sent = {"act": str(new_id()), "done_on": "2026-03-12", **typed}
    return client.post(reverse("cart-tyres", args=[cart.site.slug, cart.pk]), sent)


def effects(cart, manager, at=CHANGED + DAY):
    cart = Cart.objects.select_related("site").get(pk=cart.pk)
    _template, context = block(cart, Viewer(manager, at))
    return {effect.name: effect for effect in context["effects"]}


def section(client, cart):
    """Return the words of the block on the cart's page."""
    page = client.get(cart.get_absolute_url()).content.decode()
    [html] = re.findall(r'<section id="tyres">.*?</section>', page, re.DOTALL)
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", html))


# common practice, no source: the worked case of the trade, 18 to 22 in at 17 mph
def test_one_tyre_change_moves_speed_brake_meter_and_stability_at_once(
    client, site, manager, lifted, now
):
    set_usual(site, "golf-cart-florida", False, reason="Law", by=manager, at=FITTED)
    a_measure(lifted, manager, at=FITTED + DAY, is_lifted=True)
    client.force_login(manager)
    now(CHANGED + timedelta(hours=2))
    before = section(client, lifted)

    tell(client, lifted, tyre="22x11-10", tyre_mm="22 in")

    after = section(client, lifted)
    assert "What these tyres changed" not in before
    assert "27.4 km/h = 17.0 mph" not in before  # measured then, with its uncertainty
    assert "18.0 in (18x8.5-8) before; 22.0 in (22x11-10) since" in after
    assert (
        "over 33.4 km/h = 20.8 mph predicted before measuring, from 27.4 km/h = 17.0 mph on the "
        "tyres of that day; the class asks for at most 20 mph" in after
    )
    assert (
        "1.22 times as long from equal speed, 1.83 times from the new top speed; neither once "
        "the wheels lock; no stop run on them yet" in after
    )
    assert "1 mi shown is 1.222 true mi" in after
    assert (
        "stability factor 0.764 → 0.635, tip angle 37.4° → 32.4° (before the lift → now)" in after
    )

    due = {row.rule_code: row for row in Recheck.objects.active().filter(cart=lifted)}
    today = site.day(CHANGED + timedelta(hours=2))
    assert {"tyre-size-speed", "tyre-size-brake", "tyre-size-lugs"} <= due.keys()
    assert [due[f"tyre-size-{name}"].due_on for name in ("speed", "brake")] == [today, today]
    assert kinds.kinds[due["tyre-size-brake"].kind_code].content == {"brake", "stop-run"}


def test_the_meter_counts_true_miles_from_that_day_and_due_figures_follow(
    client, manager, lifted, now
):
    client.force_login(manager)
    meters.add_reading(lifted, distance=D("1860"), by=manager, at=CHANGED)
    first = Cart.objects.get(pk=lifted.pk)
    settle = Recheck.objects.active().get(cart=lifted, rule_code="settle-check")
    now(CHANGED + timedelta(minutes=1))

    tell(client, lifted, tyre="22x11-10", tyre_mm="22 in")

    changed = Cart.objects.get(pk=lifted.pk)
    meters.add_reading(lifted, distance=D("1942"), by=manager, at=CHANGED + DAY)
    read = Cart.objects.get(pk=lifted.pk)
    miles = (read.metres_life - first.metres_life) / MILE_M
    assert round(miles, 1) == D("100.2")
    assert changed.distance_at(settle.due_metres) < first.distance_at(settle.due_metres)


def test_a_speed_measured_since_stands_for_the_predicted_one(client, manager, lifted, now):
    client.force_login(manager)
    now(CHANGED + timedelta(hours=1))
    tell(client, lifted, tyre="22x11-10", tyre_mm="22 in")
    speed_run(lifted, manager, "15", CHANGED + timedelta(hours=2))

    said = effects(lifted, manager)["Top speed"]

    assert said.said == "20.00 ± 0.38 mph = 32.19 ± 0.61 km/h, measured on these tyres"
    assert said.verdict == ""


def test_a_measured_speed_is_held_against_the_limit_of_its_own_day(manager, lifted):
    then = {"class_code": "yard", "class_name": "Yard", "limit_inch_kmh": 16 * MPH_KMH}
    speed_run(lifted, manager, "17.647", CHANGED, **then, limit_is_below=True)
    claim_class(lifted, "low-speed-vehicle", reason="Law", by=manager, at=CHANGED)

    said = effects(lifted, manager)["Top speed"]

    assert (said.verdict, said.said) == (
        "over",
        "17.00 ± 0.27 mph = 27.35 ± 0.44 km/h, measured on these tyres; "
        "the class asks for below 16 mph",
    )


def test_a_stop_driven_since_is_said(manager, lifted):
    register.change_tyres(lifted, "22x11-10", "558.8", by=manager, at=CHANGED)
    early = effects(lifted, manager)["Stopping"].note
    a_round(lifted, by=manager, at=CHANGED + timedelta(hours=1), parts=("brake",))

    assert early == "no stop run on them yet"
    assert effects(lifted, manager)["Stopping"].note == "a stop run on these tyres is recorded"


@pytest.mark.parametrize(
    ("code", "tyre_mm", "verdict", "begins", "note"),
    [
        ("golf-cart-florida", "558.8", "over", "33.4", ""),
        ("golf-cart-florida", "520.7", "under", "31.2", ""),
        # 32 km/h and 20 mph of one limit part: 27.36 km/h on 18 in is 32.1 on 536.6 mm
        (
            "personal-transport-vehicle",
            "536.6",
            "boundary",
            "32.1",
            "a person decides",
        ),
        ("none", "558.8", "", "33.4", ""),
    ],
)
def test_the_predicted_speed_is_held_against_the_carts_class(
    manager, lifted, code, tyre_mm, verdict, begins, note
):
    claim_class(lifted, code, reason="Law", by=manager, at=FITTED)
    register.change_tyres(lifted, "other", tyre_mm, by=manager, at=CHANGED)

    said = effects(lifted, manager)["Top speed"]

    assert (said.verdict, said.note) == (verdict, note)
    assert said.said.startswith(f"{begins} km/h")


def test_what_is_not_recorded_is_said(manager, cart):
    said = {name: effect.said for name, effect in effects(cart, manager).items()}

    assert said == {
        "Top speed": "not recorded: no speed run",
        "Distance meter": "not recorded",
        "Stability": "not recorded: weigh and measure",
    }


def test_where_no_diameter_is_recorded_nothing_is_made_of_it(manager, kit, cart):
    at = {"by": manager, "at": MORNING}
    meters.fit_meter(cart, "distance", D(5), unit="mi", wheel_driven=True, set_for_mm=D(457), **at)
    fit(cart, kit, by=manager, at=FITTED)
    speed_run(cart, manager, "17.647", FITTED + DAY)

    said = effects(cart, manager)

    assert said["Distance meter"].said == "as it shows: no tyre diameter is recorded"
    assert said["Top speed"].said.endswith("measured on tyres of a diameter not recorded")


def test_a_meter_that_counts_no_wheel_shows_as_it_did(manager, cart):
    meters.fit_meter(cart, "distance", D("1850"), unit="mi", by=manager, at=MORNING)
    register.change_tyres(cart, "22x11-10", "558.8", by=manager, at=CHANGED)

    said = effects(cart, manager)["Distance meter"].said

    assert said == "not known to count turns of a wheel: as it shows"


def test_within_a_cut_it_stands_as_it_was_and_leads_nowhere(manager, lifted):
    register.change_tyres(lifted, "22x11-10", "558.8", by=manager, at=CHANGED)
    cut = Cut(CHANGED - DAY, CHANGED + DAY)

    _template, context = block(lifted, Viewer(manager, CHANGED + DAY), cut)

    names = {effect.name for effect in context["effects"]}
    assert (context["tyres_changed"], "Stopping" in names) == (None, False)
    assert (context["may_claim"], context["may_read"]) == (False, False)


@pytest.mark.parametrize(
    ("role", "may_claim"), [(Role.MECHANIC, False), (Role.SURVEYOR, False), (Role.MANAGER, True)]
)
def test_only_a_manager_is_led_to_hold_the_cart_to_another_class(
    client, site, manager, cart, now, role, may_claim
):
    client.force_login(manager if may_claim else with_role(site, manager, role))

    page = client.get(cart.get_absolute_url()).content.decode()

    assert (reverse("speed-class-claim", args=[site.slug, cart.pk]) in page) == may_claim
    assert reverse("stability-detail", args=[site.slug, cart.pk]) in page


@pytest.mark.parametrize("count", [1, 3])
def test_the_block_costs_the_same_however_long_the_life(
    manager, lifted, count, django_assert_num_queries
):
    for n in range(count):
        at = CHANGED + n * timedelta(hours=3)
        register.change_tyres(lifted, "other", str(500 + n), by=manager, at=at)
        a_measure(lifted, manager, at=at)
        speed_run(lifted, manager, "15", at + timedelta(hours=1))

    with django_assert_num_queries(14):
        effects(lifted, manager)


def test_the_block_says_what_other_tyres_change_that_no_clock_runs_for(lifted, manager, now):
    def looked_at():
        effects = block(lifted, Viewer(manager, CHANGED))[1]["effects"]
        return [f"{one.said}; {one.note}" for one in effects if one.name == "To look at"]

    before = looked_at()
    register.change_tyres(lifted, "22x11-10", "558.8", by=manager, at=CHANGED)

    assert before == []
    assert looked_at() == [
        "rub at full lock and full bump, the ride height, and whether what the label says is "
        "still true; no clock runs for these"
    ]
