"""The warning label on a phone: one tap where all is well, its place in the drawing, its hold."""

import io

import pytest
from PIL import Image

from fleet.models import Round
from lifts.models import LabelCheck
from shared.models import Photo
from tests.browser.conftest import PHONE, session_of
from tests.round_pages import Shop

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

FRAME = "rect => getComputedStyle(rect).strokeWidth"


@pytest.fixture
def shop(monkeypatch):
    return Shop(monkeypatch)


@pytest.fixture
def page(screens, shop):
    """The round's page with everything but the label left out."""
    phone = screens.page(session=session_of(shop.mechanic), viewport=PHONE)
    phone.goto(shop.url("round-create"))
    phone.get_by_label("I have seen these").check()
    for tick in phone.locator("input[name$=-not_done]").all():
        if tick.get_attribute("name") != "label-not_done" and tick.is_visible():
            tick.check()
    return phone


def photo(colour):
    file = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(file, "JPEG")
    return {"name": "label.jpg", "mimeType": "image/jpeg", "buffer": file.getvalue()}


def save(page):
    page.get_by_role("button", name="Save the round").click()
    page.get_by_text("Saved.").wait_for()


def test_one_tap_and_two_photos_are_all_of_it(page, shop):
    page.get_by_label("Clear, and in sight from the driver’s seat").check()
    page.locator("[name=label-photo_seat]").set_input_files(photo("red"))
    page.locator("[name=label-photo_close]").set_input_files(photo("blue"))
    save(page)

    check = LabelCheck.objects.get()
    assert (check.condition, check.is_good) == ("clear", True)
    assert set(Photo.objects.values_list("shows", "about")) == {
        ("label-seat", check.pk),
        ("label-close", check.pk),
    }


def test_the_place_pressed_is_framed_in_the_drawing(page):
    page.get_by_text("Where it is, and how large its letters are").click()
    column, dash = page.locator(".label-place-D rect"), page.locator(".label-place-A rect")
    before = column.evaluate(FRAME)

    page.get_by_label("D: steering column").check()

    assert (before, column.evaluate(FRAME), dash.evaluate(FRAME)) == ("1.2px", "4px", "1.2px")


def test_a_covered_label_saves_and_says_why_it_does_not_close(page):
    page.get_by_text("It is otherwise, or was replaced").click()
    page.get_by_label("covered", exact=True).check()
    page.locator("[name=label-covered_by]").fill("a phone holder")
    save(page)

    reason = "Warning label covered by a phone holder: uncover or replace it within 24 hours"
    assert page.get_by_text(reason).count() > 0
    assert (Round.objects.count(), LabelCheck.objects.get().condition) == (1, "covered")


def test_nothing_said_of_the_label_is_asked_for_where_it_stands_folded(page):
    page.get_by_label("A new label was fitted").evaluate("tick => tick.click()")
    page.get_by_role("button", name="Save the round").click()

    page.get_by_text("Not saved yet").wait_for()
    assert page.get_by_label("covered", exact=True).is_visible()
    assert page.get_by_text("Say how the label is").first.is_visible()
