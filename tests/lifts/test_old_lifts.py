"""A lift told by form that is older than the records, or so late that it would stop the cart."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from fleet import desk
from fleet.actions import project, sites
from fleet.default_rules import book_to_json
from fleet.models import Cart, Tag
from fleet.rulebook import Book
from lifts.actions import fit, fit_old, take_wheel_off
from lifts.models import Fitting
from shared import clock
from shared.models import Change, Entry, new_id
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.fleet.importing_ways import bring
from tests.fleet.sheet_samples import csv_bytes
from tests.lift_factories import a_cart, with_role

pytestmark = [pytest.mark.django_db, pytest.mark.both]
DAY = timedelta(days=1)
NOW = MORNING + 29 * DAY
TODAY = date(2026, 3, 31)
FIRST_WORK = {"start-short-check": date(2026, 4, 14), "start-baseline": date(2026, 6, 29)}
LATE = "Told so late, its close-out would be past its limit: say which it is"
ASK_A_MANAGER = "Only a manager says so: ask one to record this fitting"


@pytest.fixture(autouse=True)
def now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


def sent(kit, day="2026-03-02", **changes):
    about = {"act": str(new_id()), "done_on": day, "kit": str(kit.pk), "paperwork": "partial"}
    return about | changes


def tell(client, person, cart, about):
    client.force_login(person)
    url = reverse("fitting-create", args=[cart.site.slug, cart.pk])
    return client.post(url, about, follow=True)


def starts_on(site, manager, day):
    sites.change_site(site, {"start_day": day}, by=manager, at=MORNING)


def work(cart):
    return dict(cart.rechecks.active().values_list("rule_code", "due_on"))


def said_at_the_desk(cart, manager):
    assert project.differences([cart.pk]) == []
    [line] = desk.morning_list(Viewer(manager, NOW), cart.site, TODAY)
    return line.said.word


def rows_of(cart):
    """Return all that is kept of a cart's lift, but ids, names and who told it how."""
    cart.refresh_from_db()
    known = Cart.objects.filter(pk=cart.pk).values("condition", "unrecorded_before", "is_lifted")
    rechecks = cart.rechecks.order_by("rule_code").values("rule_code", "due_on", "stops_on")
    fitting = Fitting.objects.filter(cart=cart).values("done_at", "day_only", "brought_in")
    changes = Change.objects.filter(cart_id=cart.pk).exclude(what="joined")
    changes = changes.values("what", "value", "done_at", "brought_in")
    return [*known, *rechecks, *fitting, *changes]


@pytest.mark.parametrize("start_day", [date(2026, 3, 30), TODAY, date(2026, 4, 20)])
def test_an_old_lift_by_form_gets_the_rows_that_it_gets_by_sheet(
    client, tmp_path, site, manager, kit, start_day
):
    starts_on(site, manager, start_day)
    # each alone in a shop that has no other work: minutes taken would move the second
    by_form, by_sheet = a_cart(site, manager, "1"), a_cart(site, manager, "2")
    row = ["2", kit.code, "2026-03-10", "partial"]
    content = csv_bytes([["Cart", "Kit", "Fitted on", "Paperwork"], row])

    answer = tell(client, with_role(site, manager), by_form, sent(kit, "2026-03-10"))
    bring(tmp_path, content, sheet="fittings")

    assert "Recorded as an old lift" in answer.text
    assert rows_of(by_form) == rows_of(by_sheet)
    assert set(work(by_form)) == set(FIRST_WORK)


def test_a_lift_older_than_its_cart_comes_in_before_the_start_day(client, site, manager, kit):
    starts_on(site, manager, TODAY)
    cart = a_cart(site, manager, at=NOW, tyre="18x8.5-8", tyre_mm="457.2")

    answer = tell(client, manager, cart, sent(kit, "2024-05-02", tyre_after="22x11-10"))

    cart.refresh_from_db()
    assert answer.status_code == 200
    assert (work(cart), cart.unrecorded_before) == (FIRST_WORK, TODAY)
    assert said_at_the_desk(cart, manager) == "GO"


def test_a_lift_of_today_is_none_of_before_the_start_day(client, site, manager, kit, cart):
    starts_on(site, manager, TODAY + 20 * DAY)

    answer = tell(client, manager, cart, sent(kit, str(TODAY)))

    assert "Recorded. The fitting close-out is due now." in answer.text
    assert work(cart)["fitting-close-out"] == TODAY


def test_a_lift_told_so_late_that_it_would_stop_the_cart_is_asked_about(
    client, site, manager, kit, cart
):
    client.force_login(manager)
    url = reverse("fitting-create", args=[site.slug, cart.pk])

    answer = tell(client, manager, cart, sent(kit))

    assert "Has the cart run since?" not in client.get(url).text
    assert "Has the cart run since?" in answer.text
    assert answer.context["form"].errors == {"ran_since": [LATE]}
    assert not Fitting.objects.exists()


@pytest.mark.parametrize("day", ["2026-03-24", "2026-03-30", "2026-03-31"])
def test_a_lift_told_up_to_seven_days_late_is_not_asked_about(
    client, site, manager, kit, cart, day
):
    answer = tell(client, manager, cart, sent(kit, day))

    is_today = day == str(TODAY)
    assert ("is due now" in answer.text) == is_today
    assert ("is past its limit: the cart must not run" in answer.text) != is_today


def test_where_no_rule_stops_the_cart_nothing_is_asked(client, site, manager, kit, cart):
    sites.change_rules(site, book_to_json(Book(())), reason="none", by=manager, at=MORNING)

    answer = tell(client, manager, cart, sent(kit))

    assert "Recorded." in answer.text
    assert not Fitting.objects.get().brought_in


def test_the_rule_book_in_force_at_the_fitting_says_if_it_stops(client, site, manager, kit, cart):
    late = {"by": manager, "at": MORNING + 20 * DAY}
    sites.change_rules(site, book_to_json(Book(())), reason="none", **late)

    answer = tell(client, manager, cart, sent(kit))

    assert answer.context["form"].errors == {"ran_since": [LATE]}
    assert answer.context["form"]["ran_since"].field.required


def test_a_manager_says_that_it_ran_of_this_cart_alone(client, site, manager, kit, cart):
    about = sent(kit, ran_since="ran")

    answer = tell(client, manager, cart, about)

    site.refresh_from_db()
    cart.refresh_from_db()
    assert "short check by 04/14/2026, baseline by 06/29/2026." in answer.text
    assert (site.start_day, cart.unrecorded_before, work(cart)) == (None, TODAY, FIRST_WORK)
    assert said_at_the_desk(cart, manager) == "GO"


def test_that_one_cart_ran_says_nothing_of_another(client, site, manager, kit, cart):
    tell(client, manager, cart, sent(kit, ran_since="ran"))
    other = a_cart(site, manager, "8")

    tell(client, with_role(site, manager), other, sent(kit, "2026-03-30"))

    assert "fitting-close-out" in work(other)


def test_sent_twice_an_old_lift_is_one(client, site, manager, kit, cart):
    about = sent(kit, ran_since="ran")
    tell(client, manager, cart, about)
    entries = Entry.objects.count()

    answer = tell(client, manager, cart, about)

    assert "Recorded as an old lift" in answer.text
    assert Entry.objects.count() == entries


def test_a_mechanic_asks_a_manager_to_say_that_it_ran(client, site, manager, kit, cart):
    answer = tell(client, with_role(site, manager), cart, sent(kit, ran_since="ran"))

    assert answer.context["form"].errors == {"ran_since": [ASK_A_MANAGER]}
    assert not Fitting.objects.exists()


def test_a_lift_whose_cart_stood_is_stopped_and_says_so(client, site, manager, kit, cart):
    answer = tell(client, with_role(site, manager), cart, sent(kit, ran_since="stood"))

    assert "is past its limit: the cart must not run" in answer.text
    assert "is due now" not in answer.text
    assert work(cart)["fitting-close-out"] == date(2026, 3, 2)
    assert said_at_the_desk(cart, manager) == "NO"


def test_a_lift_of_after_the_start_day_that_ran_is_not_recorded_before_today(
    client, site, manager, kit, cart
):
    starts_on(site, manager, date(2026, 3, 2))
    take_wheel_off(cart, "left front", by=manager, at=NOW - DAY)

    tell(client, manager, cart, sent(kit, "2026-03-10", ran_since="ran"))

    site.refresh_from_db()
    cart.refresh_from_db()
    assert (site.start_day, cart.unrecorded_before) == (date(2026, 3, 2), TODAY)
    assert set(work(cart)) == {*FIRST_WORK, "wheel-off"}


def test_the_tyres_of_an_old_lift_call_for_no_check(client, site, manager, kit):
    starts_on(site, manager, date(2026, 3, 2))
    cart = a_cart(site, manager, tyre="22x11-10", tyre_mm="558.8")
    tyres = {"tyre_before": "18x8.5-8", "tyre_after": "22x11-10"}

    tell(client, manager, cart, sent(kit, "2026-03-10", ran_since="ran", **tyres))

    assert set(work(cart)) == set(FIRST_WORK)
    assert said_at_the_desk(cart, manager) == "GO"


def test_another_old_lift_on_the_cart_gets_first_days_of_its_own(site, manager, kit, cart):
    starts_on(site, manager, date(2026, 3, 5))
    fit_old(cart, kit, by=manager, at=MORNING + 8 * DAY, done_at=MORNING)

    fit_old(cart, kit, by=manager, at=NOW, done_at=MORNING + 12 * DAY)

    assert work(cart) == FIRST_WORK


@pytest.mark.parametrize(
    ("use_class", "paperwork", "is_tagged"),
    [("rental", "none", True), ("rental", "partial", False), ("staff", "none", False)],
)
def test_a_hired_cart_whose_lift_is_found_late_without_paperwork_is_tagged(
    client, site, manager, kit, use_class, paperwork, is_tagged
):
    starts_on(site, manager, date(2026, 3, 2))
    cart = a_cart(site, manager, "8", use_class=use_class)

    answer = tell(client, manager, cart, sent(kit, ran_since="ran", paperwork=paperwork))

    assert Tag.objects.exists() == is_tagged
    assert ("The cart is tagged: its lift was found late" in answer.text) == is_tagged


def test_sent_again_later_it_tags_the_cart_once(site, manager, kit):
    starts_on(site, manager, date(2026, 3, 2))
    cart = a_cart(site, manager, "8", use_class="rental")
    about = {"id": new_id(), "by": manager, "done_at": MORNING + DAY, "paperwork": "none"}

    for seconds in (0, 5):
        fit_old(cart, kit, at=NOW + timedelta(seconds=seconds), **about)

    assert (Tag.objects.count(), Fitting.objects.count()) == (1, 1)


def test_a_lift_that_another_followed_is_a_chapter_that_ended(client, site, manager, kit, cart):
    starts_on(site, manager, date(2026, 3, 30))
    fit(cart, kit, by=manager, at=NOW - 3 * DAY)

    answer = tell(client, manager, cart, sent(kit, "2026-03-10"))

    assert "Recorded as an old lift: no clock runs backwards." in answer.text
    assert "fitting-close-out" in work(cart)
    assert not Change.objects.filter(what="started up").exists()


def test_a_lift_that_another_followed_is_not_asked_about(client, site, manager, kit, cart):
    fit(cart, kit, by=manager, at=NOW - 3 * DAY)

    tell(client, manager, cart, sent(kit, "2026-03-10"))

    assert [fitting.brought_in for fitting in Fitting.objects.all()] == [False, False]
