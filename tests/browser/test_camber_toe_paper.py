"""The camber and toe sheet of a printed round fits on one page, of A4 and of Letter."""

import pytest
from django.urls import reverse

from tests.browser.conftest import yard_page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PX_A_MM = 96 / 25.4
# between the margins that print.css sets: 14 mm aside, 13 and 15 mm above and below
PAPERS_MM = {"A4": (210 - 28, 297 - 28), "Letter": (215.9 - 28, 279.4 - 28)}


@pytest.mark.parametrize("paper", PAPERS_MM)
def test_the_sheet_fits_on_a_page_of_its_own(screens, yard, paper):
    wide_mm, high_mm = PAPERS_MM[paper]
    size = {"width": round(wide_mm * PX_A_MM), "height": 900}
    page = yard_page(screens, yard, viewport=size)
    page.goto(reverse("round-sheet", args=[yard.site.slug, yard.cart.pk]))
    page.emulate_media(media="print")

    sheet = page.locator(".own-page")

    assert sheet.locator("h2").inner_text().startswith("Camber and toe")
    assert sheet.bounding_box()["height"] <= high_mm * PX_A_MM
    inside = "all => all.every(one => one.scrollWidth <= one.clientWidth + 1)"
    assert sheet.locator(".room").evaluate_all(inside)
    assert sheet.evaluate("one => getComputedStyle(one).breakBefore") == "page"
