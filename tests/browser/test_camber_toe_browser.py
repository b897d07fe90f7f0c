"""The camber and toe sheet on a phone: told each turn, by its keys alone, in the right order."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from alignment.models import CamberToeSheet, ToeReading, Turn
from fleet.models import Round

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

KEY_PX = 56  # 15 mm at 96 px an inch
LEANS_IN = ("3/8", "1/16", "3/8", "1/16")  # -1.49 degrees over 12 in
UPRIGHT = ("1/8", "1/8", "1/8", "1/8")


def faults(page):
    found = Axe().run(page).response["violations"]
    return [fault["id"] for fault in found if fault["impact"] in ("serious", "critical")]


def toes(front, rear, times=1):
    return (front, rear) * times


def test_a_cart_is_brought_inside_in_one_pass_told_each_turn(thumb, yard):
    thumb.prepare(fill=thumb.keys)
    thumb.keys("p1_left_top_1", *LEANS_IN, *toes("35 7/8", "36 3/8"))
    thumb.ask("look")
    assert "Left: 1 turn and 3 flats longer (9 flats)" in thumb.says()
    assert "Right: 1 turn and 3 flats longer (9 flats)" in thumb.says()
    assert "It will move toe by about −0.066 in (−1.7 mm)" in thumb.says()
    assert faults(thumb.page) == []

    thumb.ask("sleeve")
    assert thumb.field("p2_left_turn").input_value() == "9"
    thumb.keys("p2_left_top_1", *UPRIGHT, *toes("35 7/8", "36 5/16", 2))
    thumb.ask("look")
    assert "Both sides alike: 3 flats shorter each" in thumb.says()
    assert "Then it should read +0.197 in (about 3/16 in, +5.0 mm)" in thumb.says()

    thumb.ask("rod")
    thumb.keys("p3_front_1", *toes("35 7/8", "36 1/16", 3))
    thumb.ask("look")
    assert "drive it" in thumb.says()

    thumb.ask("drive")
    thumb.keys("p4_left_top_1", *UPRIGHT, *toes("35 7/8", "36 1/16", 3))
    thumb.ask("look")
    # the steering wheel is only ticked as centred below
    assert "Inside, but the recheck stays open" in thumb.says()
    assert "Steering wheel not centred" in thumb.says()
    assert faults(thumb.page) == []

    thumb.choose("jam_nuts")
    thumb.choose("wheel_centred")
    thumb.field("pull").select_option("none")
    thumb.save()
    thumb.page.get_by_text("Saved.").wait_for()

    assert not yard.is_open()
    sheet = CamberToeSheet.objects.get()
    assert (sheet.passes, sheet.drive_pass, sheet.driven, sheet.asked_for_more) == (
        4,
        4,
        True,
        False,
    )
    assert ToeReading.objects.first().front_typed == "35 7/8 in"
    turned = Turn.objects.order_by("place").values_list("what", "at", "longer_flats")
    assert list(turned) == [
        ("sleeve", "left", 9),
        ("sleeve", "right", 9),
        ("rod", "left", -3),
        ("rod", "right", -3),
    ]
    assert round(Turn.objects.filter(what="rod").first().predicted_mm, 1) == 5
    assert thumb.page.complaints == []


def toe_alone(thumb):
    thumb.write("p1_front_1", *toes("35 7/8", "36 1/16"))
    thumb.save()


def rods_with_camber_outside(thumb):
    thumb.write("p1_left_top_1", *LEANS_IN, *toes("35 7/8", "36 3/8"))
    thumb.ask("rod")


def rods_with_one_wheel_unread(thumb):
    thumb.write("p1_left_top_1", *UPRIGHT[:2])
    thumb.ask("rod")


def sleeve_where_camber_is_not_adjustable(thumb):
    thumb.field("camber_adjusts").select_option("not")
    thumb.write("p1_left_top_1", *LEANS_IN)
    thumb.ask("sleeve")


def sleeve_without_camber_again(thumb):
    thumb.write("p1_left_top_1", *LEANS_IN, *toes("35 7/8", "36 3/8"))
    thumb.ask("sleeve")
    thumb.write("p2_front_1", *toes("35 7/8", "36 1/16", 3))
    thumb.save()


def sleeve_then_rods_without_camber_again(thumb):
    thumb.write("p1_left_top_1", *LEANS_IN)
    thumb.ask("sleeve")
    thumb.ask("rod")


def sleeve_without_toe_again(thumb):
    thumb.write("p1_left_top_1", *LEANS_IN, *toes("35 7/8", "36 3/8"))
    thumb.ask("sleeve")
    thumb.write("p2_left_top_1", *UPRIGHT)
    thumb.save()


def rods_without_toe_again(thumb):
    thumb.write("p1_left_top_1", *UPRIGHT, *toes("35 7/8", "36 3/8"))
    thumb.ask("rod")
    thumb.save()


def rods_then_drive_without_toe_again(thumb):
    thumb.write("p1_left_top_1", *UPRIGHT, *toes("35 7/8", "36 3/8"))
    thumb.ask("rod")
    thumb.ask("drive")


def driven_without_camber_again(thumb):
    thumb.write("p1_left_top_1", *UPRIGHT, *toes("35 7/8", "36 1/16", 3))
    thumb.ask("drive")
    thumb.write("p2_front_1", *toes("35 7/8", "36 1/16", 3))
    thumb.save()


def driven_without_toe_again(thumb):
    thumb.write("p1_left_top_1", *UPRIGHT, *toes("35 7/8", "36 1/16", 3))
    thumb.ask("drive")
    thumb.write("p2_left_top_1", *UPRIGHT)
    thumb.save()


CAMBER_AGAIN = "sleeve was turned in pass 2: read this wheel’s camber again"
TOE_AFTER_ROD = "The tie rods were turned in pass 2: read toe again"
VIOLATIONS = {
    toe_alone: ("p1_left_top_1", "left wheel’s camber before toe"),
    rods_with_camber_outside: (None, "Turn the camber sleeve before the tie rods"),
    rods_with_one_wheel_unread: (None, "the right wheel has no camber reading that counts"),
    sleeve_where_camber_is_not_adjustable: (None, "then no sleeve is turned"),
    sleeve_without_camber_again: ("p2_left_top_1", CAMBER_AGAIN),
    sleeve_then_rods_without_camber_again: ("p2_left_top_1", CAMBER_AGAIN),
    sleeve_without_toe_again: ("p2_front_1", "so toe read before is void: read toe again"),
    rods_without_toe_again: ("p2_front_1", TOE_AFTER_ROD),
    rods_then_drive_without_toe_again: ("p2_front_1", TOE_AFTER_ROD),
    driven_without_camber_again: (
        "p2_left_top_1",
        "Driven in pass 2: read the left wheel’s camber again",
    ),
    driven_without_toe_again: ("p2_front_1", "Driven in pass 2: read toe again"),
}


@pytest.mark.parametrize("violate", VIOLATIONS, ids=lambda violate: violate.__name__)
def test_what_is_out_of_order_is_refused_and_nothing_is_lost(thumb, violate):
    place, why = VIOLATIONS[violate]
    thumb.prepare()
    violate(thumb)

    said = f".field:has([name='camber-toe-{place}']) .errorlist" if place else ".errorlist"
    thumb.part.locator(said, has_text=why).first.wait_for()
    assert thumb.field("between").input_value() == "12"
    assert any(thumb.field(name).input_value() for name in ("p1_left_top_1", "p1_front_1"))
    assert Round.objects.count() == 0
    assert thumb.page.complaints == []
