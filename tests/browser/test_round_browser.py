"""The first check on a phone: signed in, typed, filled, saved, seen closed."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from fleet.actions.rounds import TakenDown, save_round
from fleet.models import Recheck, Round
from fleet.round_page import RoundPage
from fleet.visits import called_at, new_visit
from shared.models import new_id
from shared.viewer import Viewer
from tests.browser.conftest import PHONE, session_of
from tests.round_pages import Shop, typed

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

PASSWORD = "four words in a row"
TOUCH_PX = 56  # 15 mm at 96 px an inch


@pytest.fixture
def shop(monkeypatch):
    """A cart whose close-out is done, three days later."""
    shop = Shop(monkeypatch)
    shop.mechanic.set_password(PASSWORD)
    shop.mechanic.save()
    viewer = Viewer(shop.mechanic, shop.at)
    visit = new_visit(shop.cart, viewer, called_at(shop.cart, shop.at))
    empty = RoundPage(visit, shop.at)
    page = RoundPage(visit, shop.at, typed(empty, hours="412.0"), {})
    assert page.is_valid()
    taken = TakenDown(id=new_id(), opened_at=shop.at, parts=page.taken_down().parts)
    save_round(shop.cart, taken, by=shop.mechanic, at=shop.at)
    shop.later(days=3)
    return shop


@pytest.fixture
def page(screens, shop):
    """The round's page of the cart, past the sign-in."""
    screen = {"viewport": PHONE, "reduced_motion": "reduce"}
    page = screens.page(session=session_of(shop.mechanic), **screen)
    page.goto(shop.url("round-create"))
    return page


def find_round(page, shop):
    """Sign in at the form and open the cart's round by its painted number."""
    page.goto("/sign-in/")
    page.get_by_label("Mail address").fill(shop.mechanic.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_label("Number painted on the cart").fill("7")
    page.get_by_role("button", name="Open its round").click()
    page.get_by_role("button", name="Save the round").wait_for()


def press_all_firm(page):
    page.locator("[name=joints-wrenches]").check()
    for choice in page.locator("input[value=firm]").all():
        choice.check()
    for choice in page.locator("input[value=undisturbed]").all():
        choice.check()
    for name, answer in (("is_pedal_low", "no"), ("holds_on_slope", "yes"), ("cable_free", "yes")):
        page.locator(f"[name=brake-{name}][value={answer}]").check()
    page.locator("[name=label-as_it_should_be]").check()


def faults(page):
    found = Axe().run(page).response["violations"]
    return [fault["id"] for fault in found if fault["impact"] in ("serious", "critical")]


def test_a_first_check_is_found_filled_saved_and_closed(phone, shop):
    page = phone
    find_round(page, shop)
    assert page.locator(".cart-plate strong").inner_text() == "7"
    assert page.get_by_text("Due now:").is_visible()
    assert faults(page) == []

    page.get_by_label("I have seen these").check()
    page.get_by_label("Hour meter (h)").fill("416.0")
    press_all_firm(page)
    page.get_by_role("button", name="Save the round").click()

    page.get_by_text("Saved.").wait_for()
    assert page.locator("h2:text-is('Closed') + ul").inner_text().startswith("First check")
    assert faults(page) == []
    assert page.complaints == []
    first_check = Recheck.objects.get(kind_code="first-check")
    assert (first_check.ended, first_check.ended_state) == ("closed", "due")


def test_a_mistake_is_reached_by_its_link_and_nothing_typed_is_lost(page, shop):
    page.get_by_label("I have seen these").check()
    page.get_by_label("Hour meter (h)").fill("402")
    press_all_firm(page)

    page.get_by_role("button", name="Save the round").click()

    page.get_by_text("Not saved yet").wait_for()
    assert page.get_by_label("Hour meter (h)").input_value() == "402"
    joints = page.locator("input[value=firm]").count()
    assert page.locator("input[value=firm]:checked").count() == joints > 5
    page.get_by_role("link", name="Round: Press what it is.").click()
    assert page.get_by_label("The meter was changed").is_visible()
    assert faults(page) == []
    assert Round.objects.count() == 1


def test_gone_back_to_and_saved_again_a_round_is_still_one(page, shop):
    page.get_by_label("I have seen these").check()
    for name in ("joints", "brake", "label"):
        page.locator(f"[name={name}-not_done]").check()
    page.locator("[name=note]").fill("Rain; only looked at")
    page.get_by_role("button", name="Save the round").click()
    page.get_by_text("This round closed nothing.").wait_for()
    saved = Round.objects.count()

    page.go_back()
    assert page.locator("[name=brake-not_done]").is_checked()
    page.get_by_role("button", name="Save the round").click()

    page.get_by_text("This round was saved already.").wait_for()
    assert Round.objects.count() == saved


def test_targets_fit_a_gloved_thumb_and_the_page_its_screen(page, shop):
    targets = page.locator(
        "main .button:visible, main .choices label:visible, main summary:visible"
    )

    sizes = [target.bounding_box() for target in targets.all()]

    assert len(sizes) > 30
    assert min(size["height"] for size in sizes) >= TOUCH_PX
    assert page.evaluate("() => document.documentElement.scrollWidth") == 390


def test_the_round_is_done_by_keyboard_alone_without_scripts(screens, shop):
    page = screens.page(viewport=PHONE, java_script_enabled=False)
    page.goto("/sign-in/")
    page.get_by_label("Mail address").fill(shop.mechanic.email)
    page.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    page.get_by_label("Number painted on the cart").fill("7")
    page.keyboard.press("Enter")
    page.get_by_label("I have seen these").press("Space")
    for name in ("joints", "brake", "label"):
        page.locator(f"[name={name}-not_done]").press("Space")
    page.get_by_label("Hour meter (h)").fill("416.0")
    page.keyboard.press("Enter")

    page.get_by_text("This round closed nothing.").wait_for()

    assert Round.objects.count() == 2
