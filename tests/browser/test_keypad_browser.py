"""The keys of the sheet leave in sight the field they fill, a phone upright and on its side."""

import pytest

from tests.browser.conftest import PHONE, THUMB, yard_page
from tests.browser.sheet_yard import Thumb

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
ON_ITS_SIDE = {"width": 844, "height": 390}
LEAST_KEY_PX = 44
FIELDS = ("p1_left_top_1", "p1_right_bottom_1", "p1_rear_3", "diameter")


@pytest.fixture
def thumb_at(screens, yard):
    def at(size):
        return Thumb(yard_page(screens, yard, **THUMB | {"viewport": size}))

    return at


def boxes(thumb, name):
    return thumb.field(name).bounding_box(), thumb.page.locator(".keypad").bounding_box()


def is_in_sight(field, keypad):
    return field["y"] >= 0 and field["y"] + field["height"] <= keypad["y"]


@pytest.mark.parametrize("size", [PHONE, ON_ITS_SIDE], ids=["upright", "on its side"])
@pytest.mark.parametrize("name", FIELDS)
def test_the_keys_do_not_lie_over_the_field_they_fill(thumb_at, size, name):
    thumb = thumb_at(size)
    thumb.field("mark").select_option("1/64 in")

    thumb.field(name).tap()

    assert is_in_sight(*boxes(thumb, name))
    keys = [one.bounding_box() for one in thumb.page.locator(".keypad .key").all()]
    assert min(min(key["width"], key["height"]) for key in keys) >= LEAST_KEY_PX
    assert max(key["y"] + key["height"] for key in keys) <= size["height"]


def test_the_head_of_the_keys_names_the_field_and_what_was_typed(thumb_at):
    thumb = thumb_at(ON_ITS_SIDE)
    thumb.field("mark").select_option("1/64 in")
    thumb.field("p1_left_top_1").tap()
    for key in ("3", "7/8"):
        thumb.key(key)

    head = thumb.page.locator(".keypad > p").inner_text()

    assert "left" in head.lower()
    assert "top" in head
    assert head.endswith("3 7/8")


def test_the_field_stays_in_sight_when_the_phone_is_turned(thumb_at):
    thumb = thumb_at(PHONE)
    thumb.field("p1_rear_2").tap()

    thumb.page.set_viewport_size(ON_ITS_SIDE)

    thumb.page.wait_for_function("document.querySelector('.keypad').offsetHeight < 240")
    assert is_in_sight(*boxes(thumb, "p1_rear_2"))
