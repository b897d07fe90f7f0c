"""The look in a browser: at phone and desk size, and on paper."""

from pathlib import Path
from types import SimpleNamespace

import pytest
from axe_playwright_python.sync_playwright import Axe
from django import forms
from django.template.loader import render_to_string
from django.test import RequestFactory

import shared

pytestmark = [pytest.mark.browser, pytest.mark.urls("tests.shared.look_urls")]

STATIC = Path(shared.__file__).parent / "static"
KINDS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}
POLICY = {"Content-Security-Policy": "default-src 'self'"}
TOUCH_PX = 56  # 15 mm at 96 px an inch
PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 900}


class RoundForm(forms.Form):
    hours = forms.DecimalField(widget=forms.NumberInput(attrs={"data-stepper": ""}), initial=12)
    look = forms.ChoiceField(
        choices=[("firm", "Firm"), ("slack", "Slack")], widget=forms.RadioSelect
    )
    note = forms.CharField(required=False)


def work_page():
    site = SimpleNamespace(slug="north")
    context = {
        "user": SimpleNamespace(is_authenticated=True),
        "site": "North yard",
        "sites": [site],
        "menu": [("Board", "/b/", True), ("Carts", "/c/", False)],
        "form": RoundForm({"hours": "12", "note": ""}),
        "messages": [SimpleNamespace(level_tag="success")],
    }
    html = render_to_string("shared/work.html", context, RequestFactory().get("/"))
    form = render_to_string("shared/_fields.html", context)
    body = (
        f'<h1>Round</h1><form data-submit-once action="/saved/">{form}'
        '<div class="actions actions-keep"><button class="button button-main">Save</button></div>'
        '</form><p><span class="state state-stopped">stopped</span></p>'
    )
    return html.replace("</main>", f"{body}</main>").replace("<title>", "<title>Round")


@pytest.fixture
def look(chromium):
    """Return a page that shows the mechanic's look, at http://look.test."""

    def answer(route, request):
        address = request.url.removeprefix("http://look.test")
        file = STATIC / address.removeprefix("/static/")
        if address.startswith("/static/"):
            route.fulfill(body=file.read_text(), content_type=KINDS[file.suffix])
        else:
            route.fulfill(body=work_page(), content_type="text/html", headers=POLICY)

    page = chromium.new_page(viewport=PHONE)
    page.complaints = []
    page.on("console", lambda said: page.complaints.append(said.text))
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    page.route("**/*", answer)
    page.goto("http://look.test/")
    yield page
    page.close()


def test_targets_of_the_mechanic_fit_a_gloved_thumb(look):
    targets = look.locator("main button, .choices div > label, main input[type=number]")

    sizes = [targets.nth(place).bounding_box() for place in range(targets.count())]
    assert len(sizes) == 6
    assert min(min(size["width"], size["height"]) for size in sizes) >= TOUCH_PX


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_page_fits_its_screen_breaks_no_policy_and_is_accessible(look, size):
    look.set_viewport_size(size)

    found = Axe().run(look).response

    assert [fault["id"] for fault in found["violations"]] == []
    assert len(found["passes"]) > 15
    assert look.evaluate("() => document.documentElement.scrollWidth") == size["width"]
    assert look.complaints == []


def test_menu_opens_on_a_phone_and_stands_open_at_a_desk(look):
    board = look.get_by_role("link", name="Board")
    assert not board.is_visible()
    look.get_by_text("Menu", exact=True).click()
    assert board.is_visible()

    look.reload()
    look.set_viewport_size(DESK)

    assert board.is_visible()
    assert not look.get_by_text("Menu", exact=True).is_visible()


def test_stepper_adds_and_takes_away_one(look):
    field = look.get_by_label("Hours", exact=True)

    look.get_by_role("button", name="More: Hours").click()
    look.get_by_role("button", name="More: Hours").click()
    look.get_by_role("button", name="Less: Hours").click()

    assert field.input_value() == "13"


def test_second_press_sends_nothing(look):
    look.get_by_label("Firm").check()
    stopped = look.evaluate(
        """() => {
            const stopped = [];
            window.addEventListener("submit", (event) => {
                stopped.push(event.defaultPrevented);
                event.preventDefault();
            });
            const save = document.querySelector(".button-main");
            save.click();
            save.click();
            return stopped;
        }"""
    )

    assert stopped == [False, True]


def test_paper_leaves_out_what_cannot_be_pressed(look):
    look.emulate_media(media="print")

    assert not look.locator(".masthead").is_visible()
    assert not look.locator(".actions").is_visible()
    assert look.locator("h1").is_visible()
    assert look.locator(".state-stopped").is_visible()
