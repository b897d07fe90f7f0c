"""The board: what stands on it, in which order, and why now."""

import csv
import io
import re
from collections import Counter
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import product
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from fleet.actions.rounds import TakenDown, save_round
from fleet.actions.tags import report, tag_cart
from fleet.board import (
    DUE,
    LATE,
    LATER,
    OPEN,
    OPEN_LONG,
    OPENING_MONTH,
    OPENING_WEEK,
    STOPPED_AT_REST,
    STOPPED_IN_USE,
    Place,
    Work,
    counts_of,
    rows_of,
    section_of,
    work_of,
)
from fleet.models import Recheck
from fleet.why_now import span_said, when, why_now
from fleet.workload import load_of, minutes_on_hand, weeks_of
from shared import clock
from shared.models import Role, Site, new_id
from shared.viewer import Viewer
from tests.factories import CartFactory, MembershipFactory, RecheckFactory, SiteFactory
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db

TODAY = date(2026, 3, 30)
QUERIES = 11
NOW = datetime(2026, 3, 30, 8, 30, tzinfo=ZoneInfo("America/New_York"))


@pytest.fixture
def site():
    return SiteFactory(slug="harbour")


@pytest.fixture
def manager(site, client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    person = MembershipFactory(site=site).person
    client.force_login(person)
    return person


def viewer_of(person):
    return Viewer(person, NOW)


def day(days):
    return None if days is None else TODAY + timedelta(days=days)


def recheck(site, opens=None, due=None, late=None, stops=None, cart=None, **values):
    cart = cart or CartFactory(site=site, is_lifted=True)
    dates = {"opens_on": day(opens), "due_on": day(due), "late_on": day(late)}
    return RecheckFactory(cart=cart, stops_on=day(stops), **dates, **values)


def on_board(site, person):
    return [
        (section, work.id) for section, work in rows_of(work_of(viewer_of(person), site, TODAY))
    ]


def test_the_board_is_in_the_order_of_what_needs_a_decision(site, manager):
    rest = CartFactory(site=site, condition="on stands")
    wanted = [
        (STOPPED_IN_USE, recheck(site, -30, -20, -10, 0)),
        (STOPPED_AT_REST, recheck(site, -30, -25, -10, -5, cart=rest)),
        (LATE, recheck(site, -30, -20, 0, 1)),
        (DUE, recheck(site, -30, -2, 1)),
        (DUE, recheck(site, -30, 0, 1)),
        (OPEN, recheck(site, 0, 28)),
        (OPENING_WEEK, recheck(site, 1, 40)),
        (OPENING_WEEK, recheck(site, 7, 41)),
        (OPENING_MONTH, recheck(site, 8, 20)),
        (OPENING_MONTH, recheck(site, 28, 28)),
        (OPEN_LONG, recheck(site, -1, 29)),
        (OPEN_LONG, recheck(site, -1, None)),
    ]
    recheck(site, 29, 40)
    recheck(site, None, None)
    recheck(site, -30, -20, ended="closed")
    recheck(SiteFactory(), -30, -20)

    assert on_board(site, manager) == [(section, row.id) for section, row in wanted]


def test_a_tagged_cart_is_not_stopped_and_in_use(site, manager):
    recheck(site, -9, -8, -7, -6, cart=CartFactory(site=site, is_tagged=True))

    assert [section for section, _ in on_board(site, manager)] == [STOPPED_AT_REST]


SPREAD = [None, -3, 0, 5, 27, 28, 29]


def test_the_database_sorts_and_counts_as_the_rules_say(site, manager):
    in_use, tagged = CartFactory(site=site), CartFactory(site=site, is_tagged=True)
    dates = [
        (opens, due, late, stops)
        for opens, due, late, stops in product(SPREAD, SPREAD, [None, -1, 1], [None, -1, 1])
        if opens is not None and all(opens <= one for one in (due, late, stops) if one is not None)
    ]
    rows = [
        RecheckFactory.build(
            cart=cart,
            site=site,
            **dict(zip(("opens_on", "due_on", "late_on", "stops_on"), map(day, some), strict=True)),
        )
        for some in dates
        for cart in (in_use, tagged)
    ]
    Recheck.objects.bulk_create(rows)

    found = list(rows_of(work_of(viewer_of(manager), site, TODAY)))

    assert [section for section, _ in found] == [section_of(work, TODAY) for _, work in found]
    shown = [row for row in rows if section_of(Work.of(row, row.cart), TODAY) != LATER]
    assert {work.id for _, work in found} == {row.id for row in shown}
    counts = counts_of(viewer_of(manager), site, TODAY)
    assert {name: n for name, n in counts.items() if n} == Counter(name for name, _ in found)


def shown_ids(response):
    return re.findall(r"/carts/([0-9a-f-]{36})/round/", response.content.decode())


def test_pages_follow_each_other_without_gap_or_repeat(site, manager, client):
    rows = [recheck(site, -30, -20 + n // 3, 5) for n in range(105)]
    address = reverse("board", args=[site.slug])
    seen, after = [], ""
    for _ in range(3):
        response = client.get(address, {"after": after})
        seen += shown_ids(response)
        after = response.context["next"]

    assert after == ""
    in_order = sorted(rows, key=lambda row: (row.due_on, row.id))
    assert seen == [str(row.cart_id) for row in in_order]


@pytest.mark.parametrize("spoilt", ["", "x", "1.2026-03-01", "1.2026-99-01.7", "a.b.c", "'--"])
def test_a_spoilt_place_is_the_first_page(site, manager, client, spoilt):
    recheck(site, -30, -20)

    response = client.get(reverse("board", args=[site.slug]), {"after": spoilt})

    assert len(shown_ids(response)) == 1


def test_a_place_reads_back():
    place = Place(3, TODAY, new_id())

    assert Place.read(str(place)) == place


@pytest.mark.parametrize("count", [1, 60])
def test_the_board_costs_the_same_however_long(
    site, manager, client, count, django_assert_num_queries
):
    for n in range(count):
        cart = CartFactory(site=site, is_lifted=True, is_tagged=n % 2 == 0)
        recheck(site, -30, -20 + n, 3 - n % 5, cart=cart)

    with django_assert_num_queries(QUERIES):
        response = client.get(reverse("board", args=[site.slug]))

    assert len(shown_ids(response)) == min(count, 50)


@pytest.mark.parametrize(
    ("asked", "wanted"),
    [
        ({"section": LATE}, ["1"]),
        ({"kind": "label-check"}, ["2"]),
        ({"area": "Beach"}, ["3"]),
        ({"bay": "b7"}, ["4"]),
        ({"kind": "label-check", "area": "Beach"}, []),
        ({"area": "Nowhere"}, ["1", "2", "3", "4"]),
    ],
)
def test_the_board_can_be_narrowed(site, manager, client, asked, wanted):
    recheck(site, -9, -8, -1, cart=CartFactory(site=site, number="1"))
    recheck(site, -9, -3, cart=CartFactory(site=site, number="2"), kind_code="label-check")
    recheck(site, -9, -2, cart=CartFactory(site=site, number="3", area="Beach"))
    recheck(site, -9, -1, cart=CartFactory(site=site, number="4", bay="B7"))

    response = client.get(reverse("board", args=[site.slug]), asked)

    rows = [row for section in response.context["sections"] for row in section.rows]
    assert [row.number for row in rows] == wanted


def test_the_same_list_is_a_csv_file_of_all_its_pages(site, manager, client):
    for n in range(60):
        recheck(site, -9, -8, cart=CartFactory(site=site, number=f"{n:03}", bay="=B1"))
    recheck(site, 3, 30)

    response = client.get(reverse("board", args=[site.slug]), {"file": "csv", "section": DUE})

    text = b"".join(response.streaming_content).decode("utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == 60
    assert {row["Bay"] for row in rows} == {"'=B1"}
    assert {(row["Section"], row["Due"], row["Why now"]) for row in rows} == {
        ("Due", "2026-03-22", "8 days past")
    }


METERS = {
    "hours_shown": Decimal("438.2"),
    "hours_life": Decimal("938.2"),
    "distance_shown": Decimal("1900"),
    "distance_unit": "mi",
    "metres_life": Decimal("1609.344") * 2900,
    "metres_per_shown": Decimal("1609.344"),
}


@pytest.mark.parametrize(
    ("about", "words"),
    [
        (
            {"governs": "hours", "due_hours": Decimal(937), "due_on": TODAY},
            "at 437.0 h, meter 438.2 h: 1.2 h past",
        ),
        (
            {"governs": "distance", "due_metres": Decimal("1609.344") * 2950},
            "at 1,950.0 mi, meter 1,900.0 mi: 50.0 mi left",
        ),
        ({"governs": "days", "due_on": day(3)}, "3 days left"),
        ({"governs": "days", "due_on": day(1)}, "1 day left"),
        ({"governs": "days", "due_on": TODAY}, "due today"),
        ({"governs": "days", "due_on": day(-1)}, "1 day past"),
        ({"governs": "days", "due_on": day(-12)}, "12 days past"),
        (
            {
                "governs": "hours",
                "due_hours": Decimal(940),
                "is_forecast": True,
                "earliest_on": date(2026, 3, 29),
                "latest_on": date(2026, 4, 4),
            },
            "at 440.0 h, meter 438.2 h: 1.8 h left; forecast, 29 Mar to 4 Apr",
        ),
        (
            {"governs": "days", "due_on": day(3), "is_estimated": True},
            "3 days left; estimated",
        ),
        (
            {
                "governs": "hours",
                "due_hours": Decimal(940),
                "is_forecast": True,
                "earliest_on": date(2026, 3, 29),
            },
            "at 440.0 h, meter 438.2 h: 1.8 h left; forecast, from Sun 29 Mar",
        ),
    ],
)
def test_why_now_says_which_limit_and_how_far(about, words):
    site = SiteFactory.build(date_order=Site.DateOrder.DMY)
    row = RecheckFactory.build(**({"due_on": day(9)} | about))
    cart = CartFactory.build(**METERS)

    assert why_now(Work.of(row, cart), TODAY, site) == words


@pytest.mark.parametrize(
    ("order", "first", "last", "words"),
    [
        ("mdy", date(2026, 4, 2), date(2026, 4, 5), "Apr 2 to 5"),
        ("mdy", date(2027, 3, 2), date(2027, 3, 5), "Mar 2 to 5, 2027"),
        ("mdy", date(2027, 3, 29), date(2027, 4, 4), "Mar 29 to Apr 4, 2027"),
        ("dmy", date(2027, 3, 2), date(2027, 3, 5), "2 to 5 Mar 2027"),
        ("mdy", date(2026, 12, 30), date(2027, 1, 3), "Wed Dec 30 to Jan 3, 2027"),
    ],
)
def test_a_span_says_its_month_and_year_once(order, first, last, words):
    assert span_said(first, last, TODAY, SiteFactory.build(date_order=order)) == words


def test_why_now_of_work_without_any_day_waits_for_a_reading():
    work = Work.of(RecheckFactory.build(governs=""), CartFactory.build())

    assert why_now(work, TODAY, SiteFactory.build()) == "waits for a meter reading"


@pytest.mark.parametrize(
    ("late", "stops", "said"),
    [
        (None, None, ("Fri Mar 20", "")),
        (-2, None, ("Fri Mar 20", "late since Sat Mar 28")),
        (-2, -1, ("Fri Mar 20", "stopped since Sun Mar 29")),
    ],
)
def test_when_says_the_day_in_the_order_of_the_site(late, stops, said):
    row = RecheckFactory.build(due_on=day(-10), late_on=day(late), stops_on=day(stops))

    assert when(Work.of(row, CartFactory.build()), TODAY, SiteFactory.build()) == said


def test_the_board_is_loud_about_a_stopped_cart_in_use(site, manager, client):
    fine = client.get(reverse("board", args=[site.slug]))
    recheck(site, -9, -8, -7, -6)
    loud = client.get(reverse("board", args=[site.slug]))

    assert ("answer-no" in fine.content.decode(), "answer-no" in loud.content.decode()) == (
        False,
        True,
    )


@pytest.mark.parametrize("address", ["board", "board-sheet", "cart-list", "desk", "desk-sheet"])
@pytest.mark.parametrize("carts", [0, 2])
def test_a_site_with_no_lifted_cart_has_pages_that_make_sense(
    site, manager, client, address, carts
):
    CartFactory.create_batch(carts, site=site)

    response = client.get(reverse(address, args=[site.slug]))

    assert response.status_code == 200


@pytest.mark.parametrize(
    ("carts", "said"),
    [(0, "No cart is on record at this site yet."), (1, "No lifted cart is on record")],
)
def test_an_empty_board_says_what_to_do(site, manager, client, carts, said):
    CartFactory.create_batch(carts, site=site)

    page = client.get(reverse("board", args=[site.slug])).content.decode()

    assert said in page
    assert reverse("import", args=[site.slug]) in page


def test_work_is_counted_by_the_week_in_which_it_falls_due(site, manager):
    recheck(site, -30, -20, -1, minutes=50)
    recheck(site, -30, 0, minutes=20)
    recheck(site, 0, 6, minutes=10)
    recheck(site, 20, 30, minutes=30)
    recheck(site, 20, 90, minutes=7)

    load = load_of(viewer_of(manager), site, TODAY)

    weeks = {week.name: week.counts for week in weeks_of(load, site) if week.total}
    assert weeks == {
        "before": {"late": 1},
        "Mon Mar 30": {"due": 1, "open": 1},
        "Mon Apr 27": {"ahead": 1},
    }
    assert [load.minutes_by(days) for days in (0, 7, 28)] == [70, 80, 80]


def test_minutes_on_hand_leave_out_closures_and_days_off():
    site = SiteFactory.build(
        working_days="12345", closures=["2026-04-03"], mechanic_minutes_a_day=300
    )

    assert [minutes_on_hand(site, TODAY, days) for days in (0, 7)] == [300, 5 * 300]


@pytest.fixture
def at_site(client, monkeypatch):
    """A site made by its facts, and its manager signed in."""
    monkeypatch.setattr(clock, "now", lambda: NOW)
    site, manager = a_site(at=NOW - timedelta(days=30))
    client.force_login(manager)
    return site, manager


def reported(client, site):
    response = client.get(reverse("board", args=[site.slug]))
    return [one.cart.number for one in response.context["reports"]]


def test_a_report_stands_until_a_round_or_a_tag_answers_it(at_site, client):
    site, manager = at_site
    long_ago, lately = NOW - timedelta(days=8), NOW - timedelta(days=1)
    carts = [a_cart(site, manager, number=n, at=long_ago) for n in ("1", "2", "3", "4")]
    report(carts[0], "kerb hit", by=manager, at=long_ago)
    for cart in carts[1:]:
        report(cart, "noise", by=manager, at=lately)
    visit = TakenDown(new_id(), opened_at=lately)
    save_round(carts[2], visit, by=manager, at=NOW - timedelta(hours=1))
    tag_cart(carts[3], "loud", by=manager, at=NOW - timedelta(hours=1))

    assert reported(client, site) == ["2"]


def test_a_tag_stands_on_the_board_with_its_reason(at_site, client):
    site, manager = at_site
    cart = a_cart(site, manager, at=NOW - timedelta(days=2))
    tag_cart(cart, "hub nut slack", by=manager, at=NOW - timedelta(days=1))
    other, its_manager = a_site("island", at=NOW - timedelta(days=3))
    tag_cart(a_cart(other, its_manager, at=NOW), "elsewhere", by=its_manager, at=NOW)

    response = client.get(reverse("board", args=[site.slug]))

    assert [tag.reason for tag in response.context["tags"]] == ["hub nut slack"]


def test_a_label_reported_missing_marks_the_rows_of_its_cart(at_site, client):
    site, manager = at_site
    cart = a_cart(site, manager, at=NOW - timedelta(days=2))
    report(cart, "label missing", by=manager, at=NOW - timedelta(days=1))
    recheck(site, -3, -2, cart=cart)
    recheck(site, -3, -1)

    response = client.get(reverse("board", args=[site.slug]))

    rows = [row for section in response.context["sections"] for row in section.rows]
    assert [row.is_label_missing for row in rows] == [True, False]


@pytest.mark.parametrize("role", [Role.MECHANIC, Role.DESK, Role.SURVEYOR])
def test_only_the_manager_has_the_board(site, client, role):
    client.force_login(MembershipFactory(site=site, role=role).person)

    assert client.get(reverse("board", args=[site.slug])).status_code == 404


def test_the_yard_board_holds_what_one_sheet_does_and_says_how_much_more(at_site, client):
    site, manager = at_site
    for n in range(10):
        cart = a_cart(site, manager, number=f"T{n}", at=NOW - timedelta(days=2))
        tag_cart(cart, "slack", by=manager, at=NOW - timedelta(days=1))
        recheck(site, -3, -2)
        recheck(site, -3, -1)

    context = client.get(reverse("board-sheet", args=[site.slug])).context

    rows = [row for section in context["sections"] for row in section.rows]
    assert (len(context["tags"]), context["more_tags"]) == (8, 2)
    assert (len(rows), context["more"]) == (6, 14)
