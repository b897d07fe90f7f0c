"""A surveyor is invited at a desk and comes in on a phone, with no script running."""

import re

import pytest

from shared import clock
from shared.models import PageSeen, Role
from tests.browser.conftest import PHONE, listened
from tests.lift_factories import a_cart, a_site
from tests.surveying import DAY

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PASSWORD = "four words in a row"
EMAIL = "ansel@insurer.example"


@pytest.fixture
def site():
    site, manager = a_site(name="Harbour Inn")
    a_cart(site, manager, "104")
    manager.set_password(PASSWORD)
    manager.save()
    site.manager = manager
    return site


def open_browser(chromium, live_server, **more):
    context = chromium.new_context(base_url=live_server.url, **more)
    return listened(context.new_page())


def invite(page, site):
    """Let the manager invite a surveyor; return the code as the page spells it."""
    page.goto("/sign-in/?next=/harbour/people/new/")
    page.get_by_label("Mail address").fill(site.manager.email)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_label("Mail address").fill(EMAIL)
    page.get_by_label("Name").fill("Ansel")
    page.get_by_label("surveyor", exact=True).check()
    page.get_by_label("Last day").fill(f"{site.day(clock.now()) + 30 * DAY}")
    page.get_by_role("button", name="Add").click()
    page.get_by_role("heading", name="Code for Ansel").wait_for()
    return page.locator("dd strong").inner_text()


def test_a_surveyor_is_invited_comes_in_is_noted_and_put_out(
    chromium, live_server, site, mailoutbox
):
    desk = open_browser(chromium, live_server)
    code = invite(desk, site)
    token = re.search(r"/s/([\w-]+)/", mailoutbox[0].body)[1]
    phone = open_browser(chromium, live_server, viewport=PHONE, java_script_enabled=False)

    phone.goto(f"/s/{token}/")
    assert token not in phone.url
    phone.get_by_label("Code").fill(code.lower())
    phone.get_by_role("button", name="Go on").click()
    phone.get_by_role("heading", name="Survey of Harbour Inn").wait_for()
    phone.locator("main").get_by_role("link", name="Carts").click()
    phone.get_by_role("link", name="104").click()

    desk.goto("/harbour/surveyors/")
    noted = desk.locator("table").nth(1).locator("tbody tr td:nth-child(4)").all_inner_texts()
    assert noted == ["cart detail, cart 104", "cart list", "survey"]
    assert set(PageSeen.objects.values_list("person__email", flat=True)) == {EMAIL}
    desk.get_by_role("link", name="Ansel").click()
    desk.get_by_role("button", name="Withdraw the link").click()
    desk.get_by_text("The link was withdrawn on").wait_for()
    phone.reload()
    assert phone.get_by_role("heading", name="Sign in").is_visible()
    assert desk.complaints + phone.complaints == []
    assert site.memberships.get(person__email=EMAIL).role == Role.SURVEYOR
