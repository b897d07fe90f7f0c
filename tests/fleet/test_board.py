"""The board: what stands on it, in which order and for whom."""

import csv
import io
import re
from collections import Counter
from itertools import product

import pytest
from django.urls import reverse

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
from shared import clock
from shared.models import Role, new_id
from tests.factories import CartFactory, MembershipFactory, RecheckFactory, SiteFactory
from tests.fleet.board_rows import NOW, TODAY, day, recheck, viewer_of

pytestmark = pytest.mark.django_db
# three of them count mails given up on, of as many kinds
QUERIES = 21


@pytest.fixture
def site():
    return SiteFactory(slug="harbour")


@pytest.fixture
def manager(site, client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    person = MembershipFactory(site=site).person
    client.force_login(person)
    return person


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


@pytest.mark.parametrize("role", [Role.MECHANIC, Role.DESK, Role.SURVEYOR])
def test_only_the_manager_has_the_board(site, client, role):
    client.force_login(MembershipFactory(site=site, role=role).person)

    assert client.get(reverse("board", args=[site.slug])).status_code == 404
