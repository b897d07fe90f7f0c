"""What is typed at a cart outlives a reload and a page thrown away, until its round is saved."""

from datetime import datetime

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.urls import reverse
from playwright.sync_api import expect

from alignment.models import CamberToeSheet
from fleet.models import Round
from tests.browser.test_camber_toe_asked import a_photo

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
UPRIGHT = ("1/8", "1/8", "1/8", "1/8")
TOED_IN = ("35 7/8", "36 3/8")
STRAIGHT = ("35 7/8", "36 1/16")
RESTED_MS = 600
PHOTOS = "Photos must be chosen again."
AGE_A_DAY = """() => { for (const key of Object.keys(localStorage)) {
  const kept = JSON.parse(localStorage.getItem(key));
  localStorage.setItem(key, JSON.stringify({...kept, at: kept.at - 24 * 60 * 60 * 1000})); } }"""


def bars(page):
    return page.locator(".message", has_text="kept on this phone")


def typed_note(thumb, note="dusty"):
    thumb.page.locator("[name=note]").fill(note)


def visit_of(page):
    return page.locator("#round").get_attribute("data-visit")


def bring_back(page):
    with page.expect_navigation():
        bars(page).get_by_role("button", name="Bring it back").first.tap()


def faults(page):
    found = Axe().run(page).response["violations"]
    return [fault["id"] for fault in found if fault["impact"] in ("serious", "critical")]


def test_a_sheet_at_its_second_pass_is_brought_back_and_saved(thumb):
    page = thumb.page
    thumb.prepare()
    thumb.write("p1_left_top_1", *UPRIGHT, *TOED_IN * 3)
    thumb.ask("rod")
    thumb.keys("p2_front_1", *STRAIGHT * 3)
    visit = visit_of(page)

    page.reload()
    assert thumb.field("p2_front_1").count() == 0
    assert datetime.now().strftime("%H:") in bars(page).inner_text()
    expect(bars(page)).to_be_in_viewport()
    assert faults(page) == []
    bring_back(page)

    assert visit_of(page) == visit
    assert bars(page).count() == 0
    assert thumb.field("p2_rear_3").input_value() == "36 1/16"
    assert thumb.field("p2_left_turn").input_value() == "4"
    assert Round.objects.count() == 0
    for tick in ("jam_nuts", "wheel_centred"):
        thumb.choose(tick)
    thumb.save()
    page.get_by_text("Saved.").wait_for()
    assert CamberToeSheet.objects.get().passes == 2
    assert page.evaluate("localStorage.length") == 0
    assert page.complaints == []


def test_an_answered_part_is_kept_at_once(thumb):
    thumb.prepare()
    thumb.write("p1_left_top_1", *UPRIGHT, *TOED_IN)
    thumb.ask("rod")
    thumb.page.wait_for_timeout(RESTED_MS)

    kept = thumb.page.evaluate("JSON.parse(Object.values(localStorage)[0]).typed")

    assert ["camber-toe-p2_left_turn", "4"] in kept
    assert "csrfmiddlewaretoken" not in dict(kept)


def test_what_is_thrown_away_is_not_offered_again(thumb):
    typed_note(thumb)
    thumb.page.reload()

    bars(thumb.page).get_by_role("button", name="Throw it away").tap()

    assert bars(thumb.page).count() == 0
    thumb.page.reload()
    assert bars(thumb.page).count() == 0


def test_left_by_a_link_it_is_offered_when_the_cart_is_opened_again(thumb, yard):
    typed_note(thumb)
    thumb.page.get_by_role("link", name="Not this cart").tap()
    thumb.page.get_by_label("Number painted on the cart").wait_for()

    thumb.page.goto(reverse("round-create", args=[yard.site.slug, yard.cart.pk]))

    assert bars(thumb.page).count() == 1
    bring_back(thumb.page)
    assert thumb.page.locator("[name=note]").input_value() == "dusty"


def test_after_a_mistake_what_is_kept_is_what_was_typed_last(thumb):
    page = thumb.page
    visit = visit_of(page)
    typed_note(thumb)
    thumb.save()
    page.get_by_text("Not saved yet").wait_for()
    assert bars(page).count() == 0
    typed_note(thumb, "dusty, and wet")

    page.goto(page.url)
    bring_back(page)

    assert page.locator("[name=note]").input_value() == "dusty, and wet"
    assert visit_of(page) == visit
    assert page.get_by_text("Not saved yet").count() == 0


def test_a_page_brought_back_and_reloaded_loses_nothing_typed_since(thumb):
    typed_note(thumb)
    thumb.page.reload()
    bring_back(thumb.page)
    typed_note(thumb, "dusty, and wet")

    thumb.page.reload()
    bring_back(thumb.page)

    assert thumb.page.locator("[name=note]").input_value() == "dusty, and wet"


def test_a_round_saved_and_gone_back_to_is_not_offered(thumb):
    page = thumb.page
    typed_note(thumb)
    thumb.part.locator("[name='camber-toe-not_done']").check()
    thumb.save()
    page.get_by_text("Saved.").wait_for()

    page.go_back()
    page.locator("[name=note]").wait_for()
    page.reload()

    assert bars(page).count() == 0
    assert page.evaluate("localStorage.length") == 0


def test_gone_back_to_and_changed_it_is_forgotten_when_saved_as_its_own(thumb):
    page = thumb.page
    typed_note(thumb)
    thumb.part.locator("[name='camber-toe-not_done']").check()
    thumb.save()
    page.get_by_text("Saved.").wait_for()
    page.go_back()
    typed_note(thumb, "wet")

    thumb.save()
    page.get_by_role("button", name="Save as a round of its own").tap()

    page.get_by_text("Saved.").wait_for()
    assert Round.objects.count() == 2
    assert page.evaluate("localStorage.length") == 0


def test_gone_back_to_and_saved_again_as_it_was_it_is_forgotten(thumb):
    page = thumb.page
    typed_note(thumb)
    thumb.part.locator("[name='camber-toe-not_done']").check()
    thumb.save()
    page.get_by_text("Saved.").wait_for()
    page.go_back()
    typed_note(thumb, "wet")
    page.wait_for_timeout(RESTED_MS)
    typed_note(thumb)

    thumb.save()

    page.get_by_text("This round was saved already.").wait_for()
    assert page.evaluate("localStorage.length") == 0


def test_a_page_of_mistakes_reloaded_offers_nothing_that_it_shows(thumb):
    page = thumb.page
    typed_note(thumb)
    thumb.save()
    page.get_by_text("Not saved yet").wait_for()

    page.reload()

    assert page.locator("[name=note]").input_value() == "dusty"
    assert page.evaluate("localStorage.length") == 1
    assert bars(page).count() == 0


def test_it_is_forgotten_after_a_day(thumb):
    page = thumb.page
    typed_note(thumb)
    page.wait_for_timeout(RESTED_MS)
    page.evaluate(AGE_A_DAY)

    page.reload()

    assert bars(page).count() == 0


def test_nothing_is_kept_where_nothing_was_typed(thumb):
    thumb.save()
    thumb.page.get_by_text("Not saved yet").wait_for()

    assert thumb.page.evaluate("localStorage.length") == 0


def test_a_photo_that_was_chosen_is_asked_for_again(thumb):
    page = thumb.page
    thumb.prepare()
    thumb.write("p1_left_top_1", *UPRIGHT, "35", "36 1/16")
    thumb.ask("look")
    thumb.field("odd_photo").set_input_files(a_photo())

    page.reload()

    assert bars(page).get_by_text(PHOTOS).is_visible()
    bring_back(page)
    assert page.get_by_text(PHOTOS).is_visible()
