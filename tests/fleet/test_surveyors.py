"""How a manager lets a surveyor in, and where the surveyor begins."""

import re

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from fleet.models import Bundle
from shared import clock, keys
from shared.models import Membership, Person, SurveyorLink
from shared.surveyor_code import plain_code
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site, with_role
from tests.surveying import DAY, a_bundle, come_in, link_for, surveys

pytestmark = pytest.mark.django_db
CODE = re.compile(r"<strong>(\w{5} \w{5})</strong>")
LINK = re.compile(re.escape(settings.FLEET_URL) + r"/s/([\w-]+)/")


@pytest.fixture
def here():
    return a_site(name="Harbour Inn")


@pytest.fixture
def manager(here):
    """The manager's browser."""
    client = Client()
    client.force_login(here[1])
    return client


@pytest.fixture
def ansel(here):
    return surveys(*here)


@pytest.fixture
def surveyor(client, here, ansel):
    """The surveyor's browser, let in by link and code."""
    come_in(client, *link_for(ansel, here[1]))
    return client


def of(site, name, *args):
    return reverse(name, args=[site.slug, *args])


def add(manager, site, **changes):
    today = site.day(clock.now())
    values = {"email": "ansel@insurer.example", "name": "Ansel", "role": "surveyor"}
    values |= {"from_day": today, "to_day": today + 30 * DAY}
    return manager.post(of(site, "person-create"), values | changes)


def test_a_surveyor_added_is_mailed_a_link_and_the_manager_is_shown_the_code(
    client, manager, here, mailoutbox
):
    page = add(manager, here[0])

    code, token = CODE.search(page.text)[1], LINK.search(mailoutbox[0].body)[1]
    person = Person.objects.get(email="ansel@insurer.example")
    link = SurveyorLink.objects.get()
    assert [mail.to for mail in mailoutbox] == [["ansel@insurer.example"]]
    assert (link.person, link.made_by) == (person, here[1])
    assert not person.has_usable_password()
    assert page["Cache-Control"] == "no-store"
    for part in code.split():
        assert part not in mailoutbox[0].body
    assert token not in page.text
    assert "/password/" not in mailoutbox[0].body
    last = (here[0].day(clock.now()) + 30 * DAY).strftime("%m/%d/%Y")
    assert f"until the end of {last}" in mailoutbox[0].body
    assert keys.public_hex() in mailoutbox[0].body.replace(" ", "")
    assert come_in(client, token, code).request["PATH_INFO"] == of(here[0], "survey")


def test_the_code_is_shown_once(manager, here):
    code = CODE.search(add(manager, here[0]).text)[1]
    person = Person.objects.get(email="ansel@insurer.example")

    for url in (of(here[0], "person-role", person.pk), of(here[0], "surveyor-list")):
        text = manager.get(url).text
        assert code not in text
        assert plain_code(code) not in text


def test_one_who_surveys_elsewhere_keeps_their_link(client, manager, here, ansel, mailoutbox):
    token, code = link_for(ansel, here[1])
    other, other_manager = a_site("osprey")
    theirs = Client()
    theirs.force_login(other_manager)

    page = add(theirs, other, email=ansel.email)

    assert page.status_code == 302
    assert "The link and the code that you have" in mailoutbox[0].body
    assert "/s/" not in mailoutbox[0].body
    come_in(client, token, code)
    assert [client.get(of(site, "survey")).status_code for site in (here[0], other)] == [200, 200]


def test_a_later_last_day_alone_makes_no_link(manager, here, ansel, mailoutbox):
    today = here[0].day(clock.now())
    row = Membership.objects.get(person=ansel)
    values = {"role": "surveyor", "from_day": row.from_day, "to_day": today + 60 * DAY}

    manager.post(of(here[0], "person-role", ansel.pk), values)

    row.refresh_from_db()
    assert row.to_day == today + 60 * DAY
    assert (SurveyorLink.objects.count(), mailoutbox) == (0, [])


def test_a_new_link_takes_the_place_of_the_old_and_is_made_once(
    client, manager, here, ansel, mailoutbox
):
    old = link_for(ansel, here[1])
    url = of(here[0], "surveyor-link-make", ansel.pk)
    form = {"after": SurveyorLink.objects.get().pk}

    page = manager.post(url, form)
    again = manager.post(url, form)

    assert again.url == of(here[0], "person-role", ansel.pk)
    assert SurveyorLink.objects.live().count() == 1
    assert len(mailoutbox) == 1
    come_in(client, *old)
    assert "_auth_user_id" not in client.session
    come_in(client, LINK.search(mailoutbox[0].body)[1], CODE.search(page.text)[1])
    assert "_auth_user_id" in client.session


def test_withdrawing_a_link_puts_its_surveyor_out_and_says_who_did(manager, here, ansel, surveyor):
    assert surveyor.get(of(here[0], "cart-list")).status_code == 200

    manager.post(of(here[0], "surveyor-link-withdraw", ansel.pk))

    assert surveyor.get(of(here[0], "cart-list")).url.startswith("/sign-in/")
    link = SurveyorLink.objects.get()
    assert (link.withdrawn_by, link.is_live) == (here[1], False)
    assert f"by {here[1].name}" in manager.get(of(here[0], "person-role", ansel.pk)).text


def test_who_withdraws_a_link_is_told_that_checkpoints_go_on(manager, here, ansel, surveyor):
    page = of(here[0], "person-role", ansel.pk)
    said = "Checkpoints go on to them by mail while the role is in force"
    before = manager.get(page).text

    after = manager.post(of(here[0], "surveyor-link-withdraw", ansel.pk), follow=True).text
    manager.post(of(here[0], "role-end", ansel.pk))

    ended = manager.get(page).text
    assert [said in text for text in (before, after, ended)] == [False, True, False]


def test_a_link_that_cannot_be_mailed_is_said(manager, here, monkeypatch):
    def refuse(*args, **kwargs):
        raise ConnectionRefusedError

    monkeypatch.setattr("shared.emails.send_mail", refuse)

    page = add(manager, here[0])

    assert "No mail went to ansel@insurer.example" in page.text
    assert "could not be mailed, and nobody else has it" in page.text


def test_no_link_for_a_password_goes_to_a_surveyor(manager, here, ansel, mailoutbox):
    manager.post(of(here[0], "person-mail", ansel.pk))

    assert mailoutbox == []
    assert "Mail the link again" not in manager.get(of(here[0], "person-role", ansel.pk)).text


@pytest.mark.parametrize("name", ["surveyor-link-make", "surveyor-link-withdraw"])
def test_links_are_for_surveyors_of_the_site_alone(manager, here, name):
    mechanic = with_role(*here)
    foreign = surveys(*a_site("osprey"))
    link_for(foreign, here[1])

    for person in (mechanic, foreign):
        assert manager.post(of(here[0], name, person.pk)).status_code == 404
    assert SurveyorLink.objects.live().count() == 1


def test_the_survey_page_says_until_when_and_gives_the_key_and_the_newest_bundle(
    manager, here, ansel, surveyor
):
    site, by = here
    made = [a_bundle(site, by, at) for at in (MORNING, MORNING + DAY)]
    a_bundle(site, by, MORNING + 2 * DAY, Bundle.State.RUNNING)

    page = surveyor.get(of(site, "survey"))

    last = (site.day(clock.now()) + 30 * DAY).strftime("%m/%d/%Y")
    assert f"until the end of {last}" in page.text
    assert "written down and shown to the manager" in page.text
    assert page.context["key"].replace(" ", "") == keys.public_hex()
    assert page.context["bundle"] == made[1]
    assert of(site, "bundle-detail", made[1].pk) in page.text
    assert "what a surveyor of the site sees first" in manager.get(of(site, "survey")).text


def test_the_survey_page_names_each_site_with_its_own_last_day(here, ansel, surveyor):
    other = a_site("osprey")
    surveys(*other, person=ansel, last=10)

    page = surveyor.get(of(here[0], "survey"))

    today = here[0].day(clock.now())
    for days in (10, 30):
        assert f"until the end of {(today + days * DAY).strftime('%m/%d/%Y')}" in page.text


def test_a_surveyor_can_hand_nothing_in(here, surveyor):
    site, by = here
    cart = a_cart(site, by, "104")
    for name in ("cart-note", "reading-create", "tag-create", "cart-order", "round-create"):
        assert surveyor.post(of(site, name, cart.pk), {"text": "x"}).status_code == 404
