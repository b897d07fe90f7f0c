"""Work told with a list of lifts: it counts from its day once a manager says so."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from fleet import desk
from fleet.actions import project
from fleet.models import Recheck
from lifts.actions import NotTold, count_told, remove_lift, strike_told
from lifts.models import Fitting
from shared import clock
from shared.facts import NotStanding
from shared.models import Change, Role
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.fleet.importing_ways import bring
from tests.fleet.sheet_samples import csv_bytes
from tests.lift_factories import a_cart, a_kit, a_site, with_role

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
NOW = MORNING + 14 * DAY
TODAY = date(2026, 3, 16)
FEB_3 = date(2026, 2, 3)
HEADINGS = ["Cart", "Kit", "Fitted on", "Last torque check", "Last grease", "Last label check"]
FITTED = "3/2/2024"


@pytest.fixture(autouse=True)
def now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def place(client):
    site, manager = a_site()
    a_kit(site, manager)
    client.force_login(manager)
    return site, manager


@pytest.fixture
def brought(tmp_path, place):
    """Bring one lift in and return its cart."""

    def bring_one(torque="", grease="", label="", *, fitted=FITTED, use_class="rental"):
        cart = a_cart(*place, "12", use_class=use_class)
        row = ["12", "trial-kit", fitted, torque, grease, label]
        said = bring(tmp_path, csv_bytes([HEADINGS, row]), sheet="fittings").splitlines()
        assert said[-1] == "Brought in."
        return cart

    return bring_one


def let_count(client, cart, kind, day, reason="The log in the shop says so"):
    url = reverse("told-count", args=[cart.site.slug, cart.pk])
    return client.post(url, {"kind": kind, "day": day, "reason": reason}, follow=True)


def take_back(client, cart, change, reason="It was another cart"):
    url = reverse("told-strike", args=[cart.site.slug, cart.pk, change.pk])
    return client.post(url, {"reason": reason}, follow=True)


def page_of(client, cart):
    return client.get(reverse("cart-detail", args=[cart.site.slug, cart.pk])).text


def words_at_the_desk(cart, manager):
    [line] = desk.morning_list(Viewer(manager, NOW), cart.site, TODAY)
    return line.said.word


def kinds_of(cart):
    return set(cart.rechecks.active().values_list("kind_code", flat=True))


def test_a_told_day_is_shown_and_starts_nothing(client, brought):
    cart = brought(grease="2/3/2026")

    page = page_of(client, cart)

    assert "Told, not seen" in page
    assert "last grease 02/03/2026" in page
    assert "last label check" not in page
    assert kinds_of(cart) == {"short-check", "baseline"}


def test_a_told_day_that_counts_dates_the_next_round(client, place, brought):
    cart = brought(grease="2/3/2026", label="2/10/2026")

    said = let_count(client, cart, "grease-round", FEB_3).text
    let_count(client, cart, "label-check", date(2026, 2, 10))

    grease = cart.rechecks.get(kind_code="grease-round")
    label = cart.rechecks.get(kind_code="label-check")
    change = Change.objects.filter(what="told counts").earliest("received_at")
    fitting = Fitting.objects.get(cart=cart)
    assert "The next one is counted from that day." in said
    assert "counts, let by Manager of harbour: The log in the shop says so" in said
    assert change.value == {"grease-round": "2026-02-03", "fitting": str(fitting.pk)}
    assert (change.reason, change.by) == ("The log in the shop says so", place[1])
    assert (grease.anchor_id, grease.anchor_on) == (change.pk, FEB_3)
    # 500 mi at the 30 km a day of a rental cart are 26.8 days
    assert (grease.due_on, grease.is_estimated, grease.late_on) == (
        FEB_3 + 26 * DAY,
        True,
        FEB_3 + (91 + 7 + 1) * DAY,
    )
    assert label.due_on == date(2026, 2, 10) + 91 * DAY
    assert words_at_the_desk(cart, place[1]) == "GO"
    assert project.differences([cart.pk]) == []


def test_taking_that_back_leaves_the_day_told(client, place, brought):
    cart = brought(grease="2/3/2026")
    before = set(cart.rechecks.values_list("pk", "due_on"))
    let_count(client, cart, "grease-round", FEB_3)
    change = Change.objects.get(what="told counts")

    said = take_back(client, cart, change).text
    again = take_back(client, cart, change).text

    assert "counts no more" in said
    assert "It was taken back before." in again
    assert "last grease 02/03/2026" in said
    assert "struck by Manager of harbour: It was another cart" in said
    assert set(cart.rechecks.values_list("pk", "due_on")) == before
    assert project.differences([cart.pk]) == []
    let_count(client, cart, "grease-round", FEB_3)
    assert cart.rechecks.filter(kind_code="grease-round").count() == 1


def test_told_work_of_a_lift_fitted_on_an_unknown_day_counts_too(client, brought):
    cart = brought(grease="2/3/2026", fitted="")

    let_count(client, cart, "grease-round", FEB_3)

    grease = cart.rechecks.get(kind_code="grease-round")
    assert (grease.anchor_on, grease.due_on) == (FEB_3, FEB_3 + 26 * DAY)
    assert project.differences([cart.pk]) == []


def test_told_work_from_before_the_lift_cannot_count(client, brought):
    cart = brought(grease="3/1/2024", label="3/2/2024")

    page = page_of(client, cart)
    said = let_count(client, cart, "grease-round", date(2024, 3, 1)).text

    assert "from before this lift was fitted" in page
    assert page.count('name="kind"') == 1
    assert "that day counts already, or cannot" in said
    assert kinds_of(cart) == {"short-check", "baseline"}


def test_a_told_day_may_stop_the_cart_at_once(client, place, brought):
    cart = brought(torque="3/1/2025", use_class="staff")
    assert words_at_the_desk(cart, place[1]) == "GO"

    let_count(client, cart, "joint-round", date(2025, 3, 1))

    joints = cart.rechecks.get(kind_code="joint-round")
    assert joints.stops_on == date(2025, 3, 1) + 273 * DAY
    assert words_at_the_desk(cart, place[1]) == "NO"
    assert project.differences([cart.pk]) == []


def test_what_no_rule_asks_for_is_said(client, brought):
    cart = brought(grease="2/3/2026", use_class="owner")

    said = let_count(client, cart, "grease-round", FEB_3).text

    assert "No rule asks for it again at this cart." in said
    assert Change.objects.filter(what="told counts").count() == 1
    assert kinds_of(cart) == {"short-check", "baseline"}


@pytest.mark.parametrize(
    ("kind", "day", "reason"),
    [
        ("grease-round", FEB_3, ""),
        ("grease-round", FEB_3 - DAY, "Sure"),
        ("label-check", FEB_3, "Sure"),
        ("grease-round", "soon", "Sure"),
    ],
)
def test_what_was_not_told_or_has_no_reason_is_refused(client, brought, kind, day, reason):
    cart = brought(grease="2/3/2026")

    said = let_count(client, cart, kind, day, reason).text

    assert "Nothing was recorded" in said
    assert not Change.objects.filter(what="told counts").exists()


def test_a_second_press_counts_nothing_twice(client, place, brought):
    cart = brought(grease="2/3/2026")
    let_count(client, cart, "grease-round", FEB_3)
    rows = list(Recheck.objects.values())

    let_count(client, cart, "grease-round", FEB_3)

    change = Change.objects.get(what="told counts")
    assert list(Recheck.objects.values()) == rows
    who = {"reason": "Sure", "by": place[1], "at": NOW}
    with pytest.raises(NotTold):
        count_told(cart, "grease-round", FEB_3, **who)
    strike_told(cart, change, **who)
    with pytest.raises(NotStanding):
        strike_told(cart, change, **who)


def test_what_was_told_ends_with_its_lift(client, place, brought):
    cart = brought(grease="2/3/2026", label="2/10/2026")
    let_count(client, cart, "grease-round", FEB_3)

    remove_lift(Fitting.objects.get(cart=cart), "Sold", by=place[1], at=NOW)

    grease = cart.rechecks.get(kind_code="grease-round")
    assert (grease.ended, grease.void_reason) == ("void", "lift removed")
    assert "Told, not seen</h3>" not in page_of(client, cart)
    with pytest.raises(NotTold):
        count_told(cart, "label-check", date(2026, 2, 10), reason="Sure", by=place[1], at=NOW + DAY)
    assert project.differences([cart.pk]) == []


def test_others_read_what_was_told_and_decide_nothing(client, place, brought):
    cart = brought(grease="2/3/2026")
    for role in (Role.MECHANIC, Role.SURVEYOR):
        client.force_login(with_role(*place, role))

        page = page_of(client, cart)

        assert "last grease 02/03/2026" in page
        assert "Let it count" not in page
