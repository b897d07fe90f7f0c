"""The tool by keyboard alone, without scripts, and on paper."""

import re

import pytest
from django.urls import reverse

from fleet.models import HandBack, Report, Tag
from shared.models import Role
from tests.browser.small_fleet import PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db]

MANAGER, MECHANIC, DESK, SURVEYOR = Role.values
MOST_TABS = 150
FOCUSED = """() => {
    const on = document.activeElement;
    const label = on.labels && on.labels.length ? on.labels[0] : on;
    return label.innerText.trim();
}"""


def tab_to(page, words):
    """Press Tab until the focus is on what is called so."""
    for _ in range(MOST_TABS):
        if page.evaluate(FOCUSED) == words:
            return
        page.keyboard.press("Tab")
    pytest.fail(f"{MOST_TABS} tabs do not reach {words!r}, but {page.evaluate(FOCUSED)!r}")


def sheets_in(printed):
    return len(re.findall(rb"/Type\s*/Page\b", printed))


def test_one_signs_in_with_tab_and_enter(fleet, signed_in):
    page = signed_in(role=None)
    page.goto("/")

    tab_to(page, "Mail address")
    page.keyboard.type(fleet.people[MECHANIC].email)
    tab_to(page, "Password")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")

    page.wait_for_url("**/harbour/round/")


def test_a_round_begins_with_the_painted_number_and_enter(fleet, signed_in):
    page = signed_in(MECHANIC)
    page.goto("/harbour/round/")

    tab_to(page, "Number painted on the cart")
    page.keyboard.type("9")
    tab_to(page, "Open its round")
    page.keyboard.press("Enter")

    page.wait_for_url(f"**/carts/{fleet.other.pk}/round/?how=typed")


@pytest.mark.parametrize("role", [MANAGER, MECHANIC, SURVEYOR])
def test_a_round_is_opened_again_from_its_cart(fleet, signed_in, role):
    page = signed_in(role)
    page.goto(fleet.urls["cart-detail"])

    page.locator(".timeline").get_by_role("link", name="Round").click()

    page.wait_for_url(f"**{fleet.urls['round-detail']}")


@pytest.mark.parametrize(
    ("role", "name", "words"),
    [
        (MANAGER, "cart-detail", "Begin a round"),
        (MANAGER, "hand-back", "Hand it back"),
        (MANAGER, "rule-change", "Put it in force"),
        (MECHANIC, "round-create", "Save the round"),
        (MECHANIC, "tag-create", "Tag the cart"),
        (MECHANIC, "fitting-create", "Record"),
        (DESK, "desk-cart", "kerb hit"),
    ],
)
def test_tab_reaches_what_the_page_is_for(fleet, signed_in, role, name, words):
    page = signed_in(role)
    page.goto(fleet.urls[name])

    tab_to(page, words)

    assert page.locator(":focus").is_visible()


def test_the_first_tab_leads_past_the_menu(fleet, signed_in):
    page = signed_in(MANAGER)
    page.goto(fleet.urls["cart-detail"])
    page.keyboard.press("Tab")
    assert page.evaluate(FOCUSED) == "Skip to the page"

    page.keyboard.press("Enter")
    page.keyboard.press("Tab")

    assert page.locator("main :focus").count() == 1


def test_a_cart_is_tagged_and_handed_back_without_scripts(fleet, signed_in):
    page = signed_in(MANAGER, java_script_enabled=False)
    page.goto(reverse("tag-create", args=["harbour", fleet.other.pk]))
    page.get_by_label("What is wrong").fill("Hub nut loose")
    page.get_by_label("Yes").check()
    page.get_by_role("button", name="Tag the cart").click()
    assert page.get_by_text("Hub nut loose").is_visible()
    page.goto(reverse("desk-cart", args=["harbour", fleet.other.pk]))
    assert page.get_by_text("NO", exact=True).is_visible()

    tag = Tag.objects.get(cart=fleet.other)
    page.goto(reverse("hand-back", args=["harbour", tag.pk]))
    page.get_by_label("What was done").fill("Nut and pin renewed")
    page.get_by_label("Who did it").select_option(str(fleet.people[MECHANIC].pk))
    page.get_by_label("The drive after it").fill("Two laps, measured again")
    page.get_by_role("button", name="Hand it back").click()

    assert page.get_by_text("Cart 9 is handed back.").is_visible()
    assert HandBack.objects.get().tag == tag


def test_the_desk_reports_a_kerb_hit_without_scripts(fleet, signed_in):
    page = signed_in(DESK, java_script_enabled=False)
    page.goto(reverse("desk", args=["harbour"]))
    page.get_by_label("Cart number").fill("9")
    page.keyboard.press("Enter")

    page.get_by_role("button", name="kerb hit").click()

    assert Report.objects.filter(cart=fleet.other).count() == 1


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize(
    ("name", "words", "most"),
    [
        ("board-sheet", "late", 1),
        ("desk-sheet", "NO", 1),
        ("round-sheet", "Cart 7", 4),
        ("tag-card", "Must not run", 1),
        ("plate-sheet", "Harbour Inn", 2),
    ],
)
def test_paper_holds_what_hangs_in_the_yard(fleet, signed_in, name, words, most, paper):
    page = signed_in(MANAGER)
    page.goto(fleet.urls[name])
    page.emulate_media(media="print")

    printed = page.pdf(format=paper, prefer_css_page_size=True, print_background=False)

    assert page.get_by_text(words).first.is_visible()
    assert not page.locator(".masthead").is_visible()
    assert 1 <= sheets_in(printed) <= most


def test_plates_of_a_cart_too_many_go_on_a_second_sheet(fleet, signed_in):
    page = signed_in(MANAGER)
    page.goto(fleet.urls["plate-sheet"])
    page.evaluate(
        """() => {
            const plates = document.querySelector(".plates");
            while (plates.children.length < 13) plates.append(plates.children[0].cloneNode(true));
        }"""
    )

    printed = page.pdf(format="A4", prefer_css_page_size=True)

    assert sheets_in(printed) == 2
