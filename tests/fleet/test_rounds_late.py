"""What the pages say of late-written rounds, and of who did the work."""

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from fleet.actions import register
from fleet.actions.corrections import move_round
from fleet.models import Countersign, Recheck, Round, WaitingRound
from fleet.waiting import waiting_at
from lifts.actions import remove_lift
from lifts.models import Fitting
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.lift_factories import a_site
from tests.round_factories import a_round
from tests.round_pages import Shop

pytestmark = pytest.mark.django_db
WAITS = "it closes nothing until a manager countersigns it."


@pytest.fixture
def shop(monkeypatch):
    return Shop(monkeypatch)


def local(at):
    return at.astimezone(ZoneInfo("America/New_York")).strftime("%Y-%m-%dT%H:%M")


def told_late(client, shop, days, **changes):
    """Send the round of an hour after the fitting, so many days later; return its page."""
    shop.at = MORNING + timedelta(hours=1, days=days)
    done_at = local(MORNING + timedelta(hours=1))
    sent = shop.rounds(client, hours="412.0", done_at=done_at, **changes)
    return client.get(sent["Location"])


def said(response):
    return " ".join(response.content.decode().split())


def board(client, shop):
    client.force_login(shop.manager)
    return client.get(reverse("board", args=[shop.site.slug]))


def countersign(client, shop, **data):
    client.force_login(shop.manager)
    return client.post(shop.url("round-countersign", Round.objects.get().pk), data)


def close_out(shop):
    return Recheck.objects.get(cart=shop.cart, kind_code="fitting-close-out").ended


def test_the_mechanic_is_told_at_saving_that_it_waits(client, shop):
    page = told_late(client, shop, 9)

    assert f"Written 9 days after it was done: {WAITS}" in said(page)
    assert "This round closed nothing." in said(page)
    assert "Countersign this round" not in said(page)


@pytest.mark.parametrize(("days", "marked"), [(0.9, False), (1.1, True), (7, True)])
def test_within_the_week_it_closes_and_is_marked_after_a_day(client, shop, days, marked):
    page = told_late(client, shop, days)

    assert WAITS not in said(page)
    assert ("Written down more than 24 hours after" in said(page)) is marked
    assert close_out(shop) == "closed"


def test_a_manager_countersigns_from_the_board(client, shop):
    told_late(client, shop, 9)
    listed = said(board(client, shop))
    page = client.get(shop.url("round-detail", Round.objects.get().pk))

    sent = countersign(client, shop, reason="Saw the sheet on the day")

    assert "Waiting for a countersign: 1 round" in listed and "9 days later" in listed
    assert "Countersign this round" in said(page)
    assert close_out(shop) == "closed"
    after = said(client.get(sent["Location"]))
    assert "Countersigned by Manager of harbour" in after and "Saw the sheet on the day" in after
    assert WAITS not in after
    assert "Waiting for a countersign" not in said(board(client, shop))


def test_a_countersign_says_why(client, shop):
    told_late(client, shop, 9)

    answer = countersign(client, shop, reason=" ")

    assert list(answer.context["form"].errors) == ["reason"]
    assert not Countersign.objects.exists()


def test_a_countersign_sent_twice_is_one_and_of_a_round_in_time_none(client, shop):
    told_late(client, shop, 9)
    countersign(client, shop, reason="Saw it")
    again = countersign(client, shop, reason="Saw it anew")

    assert again.status_code == 302
    assert Countersign.objects.count() == 1


def test_the_manager_takes_a_countersign_back_on_the_cart_s_page(client, shop):
    told_late(client, shop, 9)
    countersign(client, shop, reason="Saw it")
    shop.later(hours=1)

    client.post(shop.url("entry-strike", Countersign.objects.get().pk), {"reason": "Did not"})

    assert close_out(shop) == ""
    assert WaitingRound.objects.count() == 1


def test_work_added_by_a_correction_after_a_week_waits_too(client, shop):
    shop.later(hours=1)
    page = shop.opened(client)
    left_out = {f"{step.part.code}-not_done": "on" for step in page.steps if step.is_first}
    shop.sent(client, page, hours="412.0", note="Only looked", **left_out)
    assert close_out(shop) == ""
    shop.later(days=8)

    page = shop.opened(client, query=f"?corrects={Round.objects.get().pk}")
    shop.sent(client, page, hours="412.0", why_corrected="I did it all that day")

    assert close_out(shop) == ""
    assert list(WaitingRound.objects.values_list("pk", flat=True)) == [page.visit.id]
    assert WaitingRound.objects.get().told_at == shop.at


def test_a_slip_mended_later_leaves_an_honest_round_counting(client, shop):
    shop.later(hours=1)
    shop.rounds(client, hours="412.0")
    shop.later(days=30)

    page = shop.opened(client, by=shop.manager, query=f"?corrects={Round.objects.get().pk}")
    sent = shop.sent(client, page, hours="412.0", why_corrected="a slip")
    page = said(client.get(sent["Location"]))

    assert close_out(shop) == "closed"
    assert "Written down" not in page and f"done: {WAITS}" not in page
    assert "what was added closes nothing until a manager countersigns it." in page
    assert f"by {shop.mechanic}, corrected by {shop.manager}." in page


def test_a_round_that_was_moved_names_who_did_it_at_the_other_cart(client, shop):
    other = shop.lifted("8")
    shop.later(hours=1)
    shop.rounds(client, hours="412.0")
    who = {"reason": "It was the 8", "by": shop.manager, "at": shop.at}
    moved = move_round(Round.objects.get(), other, **who)

    page = client.get(shop.url("round-detail", moved.pk, cart=other))

    assert page.context["result"].first.by == shop.mechanic
    assert f"by {shop.mechanic}, corrected by {shop.manager}." in said(page)


def test_the_round_of_a_cart_that_came_from_another_site_is_read_there(client, shop):
    shop.later(hours=1)
    shop.rounds(client, hours="412.0")
    island, boss = a_site("island", at=shop.at)
    shop.later(days=1)
    register.move_cart(shop.cart, island, by=shop.manager, at=shop.at)
    args = [shop.cart.pk, Round.objects.get().pk]

    client.force_login(boss)
    there = client.get(reverse("round-detail", args=["island", *args]))
    strike = client.get(reverse("round-strike", args=["island", *args]))
    client.force_login(shop.manager)
    here = client.get(reverse("round-detail", args=["harbour", *args]))

    assert [there.status_code, strike.status_code, here.status_code] == [200, 404, 200]
    assert "Take it back" not in said(there)
    assert "The cart is at another site now." in said(here)


def test_a_round_of_a_cart_that_has_come_is_countersigned_at_its_new_site(client, shop):
    told_late(client, shop, 9)
    island, boss = a_site("island", at=shop.at)
    register.move_cart(shop.cart, island, by=shop.manager, at=shop.at)
    args = [shop.cart.pk, Round.objects.get().pk]

    left = countersign(client, shop, reason="Saw it")
    client.force_login(boss)
    client.post(reverse("round-countersign", args=["island", *args]), {"reason": "Asked harbour"})

    assert left.status_code == 404
    assert Countersign.objects.get().site == island
    assert close_out(shop) == "closed"


def test_a_round_after_the_removal_of_the_lift_is_marked(client, shop):
    shop.later(hours=1)
    remove_lift(Fitting.objects.get(cart=shop.cart), "sold", by=shop.manager, at=shop.at)
    shop.later(hours=1)
    row = a_round(shop.cart, by=shop.mechanic, at=shop.at).round
    client.force_login(shop.mechanic)

    page = said(client.get(shop.url("round-detail", row.pk)))

    assert "After removal: no lift was on the cart then" in page
    assert close_out(shop) == "void"


def test_a_softened_verdict_stands_beside_the_first_on_both_rounds(client, shop):
    shop.later(hours=1)
    shop.rounds(client, hours="412.0", **{"brake-holds_on_slope": "no"})
    first = Round.objects.get()
    shop.later(hours=1)
    page = shop.opened(client, by=shop.manager, query=f"?corrects={first.pk}")
    shop.sent(client, page, hours="412.0", why_corrected="It held")

    pages = [said(client.get(shop.url("round-detail", pk))) for pk in (first.pk, page.visit.id)]

    for one in pages:
        assert "Verdicts that a correction turned better" in one
        assert "holds on slope" in one and "<del>no</del>" in one and "It held" in one


def test_a_board_with_three_waiting_rounds_asks_no_more_than_with_one(client, shop):
    told_late(client, shop, 9)
    first = waiting_queries(shop)
    for _again in (1, 2):
        shop.later(minutes=5)
        shop.rounds(client, hours="412.0", done_at=local(MORNING + timedelta(hours=1)))

    assert first[0] == 1
    assert waiting_queries(shop) == (3, first[1])


def waiting_queries(shop):
    viewer = Viewer(shop.manager, shop.at)
    assert viewer.site_ids
    with CaptureQueriesContext(connection) as asked:
        count, _rows = waiting_at(viewer, shop.site)
    return count, len(asked)


def timeline(client, shop):
    client.force_login(shop.manager)
    return client.get(reverse("cart-detail", args=[shop.site.slug, shop.cart.pk]))


def test_the_timeline_names_who_did_what_another_corrected_and_calls_it_not_late(client, shop):
    shop.later(hours=1)
    shop.rounds(client, hours="412.0", **{"brake-holds_on_slope": "no"})
    shop.later(days=3)
    page = shop.opened(client, by=shop.manager, query=f"?corrects={Round.objects.get().pk}")
    shop.sent(client, page, hours="412.0", why_corrected="It held")

    shown = timeline(client, shop)

    item = next(one for one in shown.context["items"] if one.fact_id == str(page.visit.id))
    assert (item.done_by, item.by) == (shop.mechanic.name, shop.manager.name)
    assert not item.is_written_late
    assert f"done by {shop.mechanic}, corrected by {shop.manager}" in said(shown)
    said_by = f"{shop.mechanic}, its round corrected by {shop.manager} on 03/05/2026"
    assert f'<small class="quiet">{said_by}' in said(
        shown
    ) and "corrects an earlier entry, taken in" in said(shown)
    assert "holds on slope: <del>no</del> yes (tag: Park brake does not hold" in said(shown)


def test_the_tags_page_marks_a_tag_that_a_late_round_put_on(client, shop):
    told_late(client, shop, 2, **{"brake-holds_on_slope": "no"})
    late = said(client.get(reverse("tag-list", args=[shop.site.slug])))

    assert "written late: taken in 03/04/2026 09:00" in late


def test_the_tags_page_marks_no_tag_that_was_told_again_later(client, shop):
    shop.later(hours=1)
    bad = {"brake-holds_on_slope": "no"}
    shop.rounds(client, hours="412.0", **bad)
    shop.later(days=3)
    page = shop.opened(client, by=shop.manager, query=f"?corrects={Round.objects.get().pk}")
    shop.sent(client, page, hours="412.5", why_corrected="The meter", **bad)

    tags = said(client.get(reverse("tag-list", args=[shop.site.slug])))

    assert "Park brake does not hold" in tags and "written late" not in tags


def test_the_page_says_beforehand_what_a_round_written_so_late_waits_for(client, shop):
    shop.opened(client)

    page = said(client.get(shop.url("round-create")))

    assert "more than 7 days after it was done, it closes nothing until a manager" in page
