"""The pages of a site's speed classes, and of the class claimed for a cart."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from fleet.actions.rounds import TakenDown, save_round
from fleet.kinds import Cut
from lifts.actions import fit
from lifts.classes import claims_at, copied, table_at
from lifts.last_runs import listed_runs, over_count
from shared import clock
from shared.models import Change, Role, new_id
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, with_role
from tests.round_factories import told

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=30)
# 440 ft in these seconds is 23.1, 20.3, 20.0, 17.6 mph
FAST, NEAR, SLOW = "13", "15", "17"
FLORIDA = "golf-cart-florida"


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def send(client, site, manager):
    client.force_login(manager)

    def post(name, /, *args, **typed):
        sent = {"act": str(new_id()), "reason": "Board decision 12", **typed}
        return client.post(reverse(name, args=[site.slug, *args]), sent)

    return post


def table(site):
    return table_at(site.pk, Cut(NOW, NOW))


def driven(cart, manager, time_s, *, at=MORNING + timedelta(days=2), code=FLORIDA):
    """Save a speed run over 440 ft at a lifted cart that is held to a class."""
    here = table(cart.site)
    about = copied(here, here.named(code))
    run = {"length_typed": "440 ft", "length_m": Decimal("134.112"), **about}
    part = told("speed", cart, time_1_s=Decimal(time_s), time_2_s=Decimal(time_s), **run)
    visit = TakenDown(new_id(), opened_at=at, parts=[(part, None)])
    return save_round(cart, visit, by=manager, at=at).round


def lifted(site, manager, number, kit):
    cart = a_cart(site, manager, number)
    fit(cart, kit, by=manager, at=MORNING)
    return cart


NEW = {"code": "yard", "name": "Yard rule", "source": "The club", "edition": "2026"}


def test_a_class_is_added_with_its_source(site, send):
    send("speed-class-create", **NEW, limit_mph="12.5")

    made = table(site).named("yard")
    assert (made.limit_mph, made.source, made.edition) == (Decimal("12.5"), "The club", "2026")
    assert Change.objects.get(what="speed classes").reason == "Board decision 12"


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({}, "__all__", "class yard: needs limit_mph or limit_kmh"),
        ({"limit_mph": "20", "limit_kmh": "20"}, "__all__", "too far apart to be one limit"),
        ({"limit_mph": "0"}, "limit_mph", "Above zero"),
        ({"limit_mph": "12", "code": "golf-car"}, "code", "has a class of that code"),
        ({"limit_mph": "12", "code": "usual"}, "code", "means something else"),
        ({"limit_mph": "12", "code": "yard rule"}, "code", "Letters a to z, figures, hyphens"),
        ({"limit_mph": "12", "source": ""}, "source", "required"),
        ({"limit_mph": "12", "reason": ""}, "reason", "required"),
    ],
)
def test_a_class_that_cannot_be_meant_is_refused(site, send, typed, field, said):
    response = send("speed-class-create", **NEW | typed)

    [errors] = response.context["form"].errors.values()
    assert list(response.context["form"].errors) == [field]
    assert said in errors[0]
    assert table(site).change is None


def test_a_class_is_changed_and_keeps_its_code(site, client, send):
    url = reverse("speed-class-change", args=[site.slug, "golf-car"])
    form = client.get(url).context["form"]
    first = {name: form[name].value() for name in form.fields if form[name].value() is not None}

    send("speed-class-change", "golf-car", **first | {"limit_mph": "14", "limit_kmh": ""})

    changed = table(site).named("golf-car")
    assert (changed.limit_mph, changed.limit_kmh, changed.limit_is_below) == (14, None, True)
    assert changed.source == "ANSI/OPEI Z130.1"


def test_a_class_is_taken_out_of_the_table(site, send):
    send(
        "speed-class-change",
        "golf-car",
        **NEW | {"limit_mph": "15", "is_dropped": "on"},
    )

    assert table(site).named("golf-car") is None


def test_a_class_of_no_table_is_not_found(send):
    assert send("speed-class-change", "yard").status_code == 404


def test_the_usual_class_and_the_tag_are_set(site, send):
    send("speed-class-usual", usual=FLORIDA, tags_over="on")

    assert (table(site).usual, table(site).tags_over) == (FLORIDA, True)


def test_a_cart_is_held_to_a_class_of_its_own(client, cart, send):
    response = send("speed-class-claim", cart.pk, speed_class="low-speed-vehicle")

    assert response.url == cart.get_absolute_url()
    claims = claims_at([cart.pk], Cut(NOW, NOW))
    assert claims == {cart.pk: "low-speed-vehicle"}
    timeline = client.get(cart.get_absolute_url()).content.decode()
    assert "Held to a speed class" in timeline
    assert "speed class: low-speed-vehicle; Board decision 12" in timeline


def test_a_class_that_was_dropped_meanwhile_is_not_claimed(site, cart, send):
    response = send("speed-class-claim", cart.pk, speed_class="yard")

    assert list(response.context["form"].errors) == ["speed_class"]
    assert claims_at([cart.pk], Cut(NOW, NOW)) == {}


@pytest.mark.parametrize("role", [Role.MANAGER, Role.MECHANIC, Role.SURVEYOR])
def test_who_reads_the_table_changes_it_only_as_a_manager(client, site, manager, role):
    reader = manager if role == Role.MANAGER else with_role(site, manager, role)
    client.force_login(reader)

    page = client.get(reverse("speed-class-list", args=[site.slug])).content.decode()

    assert "below 15 mph (24 km/h)" in page
    assert "at most 25 mph (40 km/h)" in page
    assert "49 CFR 571.3(b), as amended by 71 FR 20026 (2006-04-19)" in page
    assert "faster than 20 mph = 32 km/h; gross mass less than 3000 lb = 1361 kg" in page
    assert ("speed-classes/new/" in page) == (role == Role.MANAGER)


def test_the_list_names_carts_over_or_too_near_to_tell_the_gravest_first(site, manager, kit):
    for number, time_s in (("1", SLOW), ("2", NEAR), ("3", FAST)):
        driven(lifted(site, manager, number, kit), manager, time_s)
    driven(lifted(site, manager, "4", kit), manager, FAST, code="none of the table")
    other, its_manager = a_site("meadow")
    driven(lifted(other, its_manager, "5", a_kit(other, its_manager)), its_manager, FAST)
    viewer = Viewer(manager, NOW)

    listed = [(one.cart.number, one.verdict) for one in listed_runs(viewer, site)]

    assert listed == [("3", "over"), ("2", "can't tell")]
    assert over_count(viewer, site) == 1


def test_only_the_last_run_that_stands_counts(site, manager, kit):
    slowed, sped = lifted(site, manager, "1", kit), lifted(site, manager, "2", kit)
    for cart, times in ((slowed, (FAST, SLOW)), (sped, (SLOW, FAST))):
        for days, time_s in enumerate(times, start=2):
            driven(cart, manager, time_s, at=MORNING + timedelta(days=days))

    assert over_count(Viewer(manager, NOW), site) == 1
    assert [one.cart for one in listed_runs(Viewer(manager, NOW), site)] == [sped]


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_costs_the_same_however_many_carts(
    client, site, manager, kit, count, django_assert_num_queries
):
    for number in range(count):
        driven(lifted(site, manager, str(number), kit), manager, FAST)
    client.force_login(manager)

    with django_assert_num_queries(6):
        answer = client.get(reverse("speed-class-list", args=[site.slug]))

    assert len(answer.context["runs"]) == count


def test_the_board_counts_carts_over_their_class(client, site, manager, kit):
    client.force_login(manager)
    board = reverse("board", args=[site.slug])

    def lines():
        found = client.get(board).context["lines"]
        return [(str(one.title), one.figure, one.url) for one in found if "speed" in one.url]

    none = lines()
    driven(lifted(site, manager, "1", kit), manager, NEAR)
    near = lines()
    driven(lifted(site, manager, "2", kit), manager, FAST)

    url = reverse("speed-class-list", args=[site.slug]) + "#runs"
    title = "Over their speed class"
    assert (none, near, lines()) == ([], [(title, "0", url)], [(title, "1", url)])
