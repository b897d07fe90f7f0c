"""The printed card of a tag: its signal word can be read from as far as a tag's must be."""

from decimal import Decimal

import pytest

from lifts.lettering import TAG_READ_FROM_M, legibility, needed_type_pt, signal_word_needed_mm
from shared.models import Role

pytestmark = [pytest.mark.browser, pytest.mark.django_db]

PX_PER_INCH, MM_PER_INCH, POINTS_PER_INCH = 96, Decimal("25.4"), 72
# how tall a capital of the element is drawn in its own font, and its type size, in CSS px
CAPITAL = """element => {
    const style = getComputedStyle(element);
    const pen = document.createElement("canvas").getContext("2d");
    pen.font = `${style.fontWeight} ${style.fontSize} ${style.fontFamily}`;
    return [pen.measureText("H").actualBoundingBoxAscent, parseFloat(style.fontSize)];
}"""


def printed_sizes(page, selector):
    """Return the capital's height in mm and the type size in points, as printed."""
    capital_px, size_px = page.locator(selector).first.evaluate(CAPITAL)
    inches = [Decimal(str(px)) / PX_PER_INCH for px in (capital_px, size_px)]
    return inches[0] * MM_PER_INCH, inches[1] * POINTS_PER_INCH


def test_the_signal_word_is_read_from_five_feet(fleet, signed_in):
    # 29 CFR 1910.145(f)(4): readable from 5 ft (1.52 m); the type size for that distance from
    # ANSI Z535.4-2011 Annex B by a label maker's page, a capital 0.70 of it by judgement
    page = signed_in(Role.MANAGER)
    page.goto(fleet.urls["tag-card"])
    page.emulate_media(media="print")

    capital_mm, size_pt = printed_sizes(page, ".tag-card > strong")
    message_mm, _size = printed_sizes(page, ".tag-card > p:not(.big)")

    assert legibility(capital_mm, TAG_READ_FROM_M * 1000) == "inside"
    assert size_pt >= needed_type_pt(TAG_READ_FROM_M * 1000) == 16
    assert capital_mm >= signal_word_needed_mm(message_mm)
    assert capital_mm < 12, "a capital of 34 pt is 8 to 9 mm: the measure is off"


def test_the_card_keeps_its_hole_and_says_how_to_tie_it(fleet, signed_in):
    page = signed_in(Role.MANAGER)
    page.goto(fleet.urls["tag-card"])
    page.emulate_media(media="print")

    hole = page.locator(".tag-card .hole").bounding_box()
    card = page.locator(".tag-card").bounding_box()

    assert hole["y"] > card["y"] and hole["width"] > 15
    assert page.get_by_text("wire or a cable tie").is_visible()
    assert page.get_by_text("Hangs at").is_visible()
