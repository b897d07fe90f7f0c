"""Reports and tags on the board, and the board of the yard."""

from datetime import timedelta

import pytest
from django.urls import reverse

from fleet.actions.rounds import TakenDown, save_round
from fleet.actions.tags import report, tag_cart
from shared import clock
from shared.models import new_id
from tests.fleet.board_rows import NOW, recheck
from tests.lift_factories import a_cart, a_site

pytestmark = pytest.mark.django_db


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
