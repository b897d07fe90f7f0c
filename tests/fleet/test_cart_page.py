"""The cart's page: what it says, what it costs and whom it offers what."""

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.actions import meters, tags
from fleet.cart_acts import ACTS
from shared import clock
from shared.models import Change, Role
from tests.factories import MORNING
from tests.fleet.cart_yard import NOW, Yard
from tests.lift_factories import a_cart, with_role
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
QUERIES_FOR_A_PAGE = 53


@pytest.fixture
def yard(client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return Yard(client)


def test_the_page_says_what_the_desk_would_say(yard):
    stands = yard.page().context["said"]
    tags.tag_cart(yard.cart, "slack", by=yard.manager, at=NOW)
    tagged = yard.page().context["said"]

    assert (stands.word, stands.why) == (
        "NO",
        "stopped: a recheck is past its stop limit; on stands in the shop, not recorded: "
        "wheel lugs, hub nuts, steering joints, U-bolts, other joints, grease, tyres, "
        "provisional camber and toe, brake, stop run, label, speed run, test drive",
    )
    assert tagged.why.startswith("the shop has a tag on it")


@pytest.mark.parametrize(
    ("role", "opens", "releases"),
    [(None, True, True), (Role.MECHANIC, True, False), (Role.SURVEYOR, False, False)],
)
def test_a_tagged_cart_says_why_and_leads_to_its_hand_back(yard, role, opens, releases):
    tags.tag_cart(yard.cart, "Rim bent", by=yard.manager, at=NOW)
    tags.tag_cart(yard.cart, "Pedal low", by=yard.manager, at=NOW)
    if role:
        yard.client.force_login(with_role(yard.site, yard.manager, role, at=MORNING))

    shown = yard.page().text.partition("Everything that happened")[0]

    assert "Rim bent" in shown and "Pedal low" in shown
    assert shown.count(">Card<") == (2 if opens else 0)
    assert shown.count("/hand-back/") == (2 if releases else 0)


def test_the_page_shows_readings_at_which_work_falls_due(yard):
    a_round(yard.cart, by=yard.manager, at=MORNING + timedelta(days=28, hours=1))

    rows = {row.what: row for row in yard.page().context["active"]}

    assert rows["First check"].at_reading.startswith("451.0 h, 1,875.0 mi")
    assert rows["Settle check"].at_reading == "471.0 h, 1,950.0 mi"


def test_the_page_plots_the_use_and_says_its_rate(yard):
    context = yard.page().context

    assert context["plot"].startswith("<svg")
    assert context["rate"].startswith("1.21 h a day (")


def test_readings_of_one_day_make_no_rate(yard):
    new = a_cart(yard.site, yard.manager, number="8")
    for minutes, hours in ((0, "412.5"), (5, "413"), (8, "413.2")):
        at = NOW - timedelta(minutes=10 - minutes)
        meters.add_reading(new, hours=Decimal(hours), by=yard.manager, at=at)

    context = yard.client.get(yard.url(cart=new)).context

    assert context["rate"] == (
        "Too few readings of late, or of less than a week, for a rate of its own: the class "
        "average stands in."
    )


def test_a_cart_without_a_meter_has_no_plot(yard):
    plain = a_cart(yard.site, yard.manager, number="8")

    context = yard.client.get(yard.url(cart=plain)).context

    assert (context["plot"], context["rate"]) == ("", "")


@pytest.mark.parametrize("count", [1, 30])
def test_the_page_costs_the_same_however_much_happened(yard, count, django_assert_num_queries):
    for n in range(count):
        person = with_role(yard.site, yard.manager, at=MORNING)
        tags.add_note(yard.cart, f"note {n}", by=person, at=NOW)

    with django_assert_num_queries(QUERIES_FOR_A_PAGE):
        yard.page()


@pytest.mark.parametrize("act", ACTS, ids=lambda act: act.name)
def test_each_act_only_happens_by_post(yard, act):
    before = Change.objects.count()

    response = yard.client.get(yard.url(act.url_name))

    assert response.status_code in (200, 302)
    assert Change.objects.count() == before


def test_a_surveyor_reads_the_page_and_is_offered_nothing(yard):
    yard.client.force_login(with_role(yard.site, yard.manager, Role.SURVEYOR, at=MORNING))

    context = yard.page().context

    assert (context["may_write"], context["acts"]) == (False, [])
