"""The sheet asked by script, without one, and when the line breaks; its keys by the tape's mark."""

import io

import pytest
from PIL import Image

from alignment.models import CamberToeSheet
from fleet.actions.tags import order_recheck
from fleet.models import Round
from shared.models import Photo
from tests.browser.conftest import PHONE, yard_page
from tests.browser.sheet_yard import NOW, Thumb
from tests.factories import MORNING

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
UPRIGHT = ("1/8", "1/8", "1/8", "1/8")
CHOSEN = "one => [...one.files].map(file => file.name)"


def a_photo():
    picture = io.BytesIO()
    Image.new("RGB", (64, 48), "grey").save(picture, "JPEG")
    return {"name": "tape.jpg", "mimeType": "image/jpeg", "buffer": picture.getvalue()}


def an_odd_toe(thumb):
    thumb.prepare()
    thumb.write("p1_left_top_1", *UPRIGHT, "35", "36 1/16", "35", "36 1/16", "35", "36 1/16")
    thumb.ask("look")


def test_a_photo_stays_chosen_while_the_sheet_answers_and_is_recorded(thumb, settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    an_odd_toe(thumb)
    thumb.choose("confirmed")
    thumb.field("odd_photo").set_input_files(a_photo())

    thumb.ask("look")

    assert thumb.field("odd_photo").evaluate(CHOSEN) == ["tape.jpg"]
    thumb.save()
    thumb.page.get_by_text("Saved.").wait_for()
    assert CamberToeSheet.objects.get().confirmed
    assert [one.shows for one in Photo.objects.all()] == [Photo.Shows.TAPE]
    thumb.page.get_by_role("link", name="Camber and toe as recorded").tap()
    thumb.page.get_by_text("confirmed by who read it, with a photo").wait_for()
    assert thumb.page.complaints == []


def test_an_odd_reading_is_not_saved_without_its_photo(thumb):
    an_odd_toe(thumb)
    thumb.choose("confirmed")

    thumb.save()

    thumb.part.locator(".errorlist", has_text="kept only with a photo").first.wait_for()
    assert Round.objects.count() == 0


def test_where_asking_by_script_fails_the_whole_page_answers(thumb):
    thumb.prepare()
    thumb.write("p1_left_top_1", *UPRIGHT)
    thumb.page.route("**/round/", break_what_is_fetched)

    thumb.part.locator("button[value='camber-toe:look']").tap()

    thumb.page.locator(".says").wait_for()
    assert thumb.says() == "Now read toe, front and rear"
    assert thumb.field("p1_right_bottom_1").input_value() == "1/8"
    assert Round.objects.count() == 0


def break_what_is_fetched(route):
    if "x-part" in route.request.headers:
        route.abort()
    else:
        route.continue_()


def test_a_step_is_taken_back_with_what_was_read_in_it(thumb):
    thumb.prepare()
    thumb.write("p1_left_top_1", *UPRIGHT, "35 7/8", "36 3/8")
    thumb.ask("rod")
    thumb.write("p2_front_1", "35 7/8", "36 1/16")

    thumb.ask("back")

    assert thumb.field("p2_front_1").count() == 0
    assert thumb.field("p1_rear_1").input_value() == "36 3/8"
    assert thumb.field("passes").input_value() == "1"


def test_keys_of_a_tape_in_64ths_and_of_one_in_mm(thumb):
    thumb.field("mark").select_option("1/64 in")
    thumb.field("p1_left_top_1").tap()
    for key in ("3", "7/16", "+1/64"):
        thumb.key(key)
    assert thumb.field("p1_left_top_1").input_value() == "3 29/64"
    thumb.key("Close")

    thumb.field("mark").select_option("0.5 mm")
    thumb.field("p1_left_bottom_1").tap()
    for key in ("1", "2", ".", "5"):
        thumb.key(key)
    assert thumb.field("p1_left_bottom_1").input_value() == "12.5 mm"
    assert thumb.page.locator(".keypad").get_by_role("button", name="7/16").count() == 0


def test_the_sheet_is_filled_turned_and_saved_without_scripts(screens, yard):
    sheet = Thumb(yard_page(screens, yard, viewport=PHONE, java_script_enabled=False))
    write_all(sheet, between="12", diameter="22", pressure_set="20")
    write_all(sheet, pressure_left="20", pressure_right="20")
    for tick in sheet.field("ready").all():
        tick.check()
    sheet.part.locator("[name='camber-toe-floor'][value='level']").check()
    sheet.field("mark").select_option("1/32 in")
    gaps = {f"p1_{side}_{gap}_1": "1/8" for side in ("left", "right") for gap in GAPS}
    write_all(sheet, **gaps, **toes(1, "36 3/8"))
    press(sheet, "look")
    assert "Both sides alike: 4 flats shorter each" in sheet.says()

    press(sheet, "rod")
    assert sheet.field("p2_left_turn").input_value() == "4"
    write_all(sheet, **toes(2, "36 1/16"))
    sheet.page.locator("[name=camber-toe-jam_nuts][value=tight]").check()
    sheet.field("wheel_centred").check()
    sheet.page.get_by_role("button", name="Save the round").click()

    sheet.page.get_by_text("Saved.").wait_for()
    assert CamberToeSheet.objects.get().passes == 2


GAPS = ("top", "bottom")


def toes(pass_no, rear):
    ends = {"front": "35 7/8", "rear": rear}
    return {f"p{pass_no}_{end}_{k}": text for end, text in ends.items() for k in (1, 2, 3)}


def write_all(sheet, **said):
    for name, text in said.items():
        sheet.field(name).fill(text)


def press(sheet, what):
    sheet.part.locator(f"button[value='camber-toe:{what}']").click()
    sheet.page.locator("#part-camber-toe [data-answer]").first.wait_for()


def test_it_answers_by_the_pressures_told_with_the_tyres(yard, thumb):
    day, why = yard.site.day(NOW), {"reason": "Soft", "by": yard.manager, "at": MORNING}
    order_recheck(yard.cart, "tyre-check", day, **why)
    thumb.page.reload()
    thumb.prepare()
    for name in ("set", "left", "right"):
        thumb.field(f"pressure_{name}").evaluate("one => { one.value = ''; }")
    told = "(one, typed) => { one.value = typed; }"
    thumb.page.locator("[name='tyres-found-left_front']").evaluate(told, "20")
    thumb.page.locator("[name='tyres-found-right_front']").evaluate(told, "20.5")
    thumb.write("p1_left_top_1", *UPRIGHT)

    thumb.ask("look")

    said = thumb.part.get_by_text("Taken from the tyres of this round").all_text_contents()
    assert [one.rpartition(": ")[2] for one in said] == ["left 20 psi.", "right 20.5 psi."]
