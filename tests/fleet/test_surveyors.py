"""How a manager lets a surveyor in, what is written down of their looks, and where it shows."""

import re
from datetime import timedelta

import pytest
from django.conf import settings
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.urls import reverse

from fleet.actions import bundles, jobs
from fleet.kinds import Cut
from shared import actions, clock, keys
from shared.actions import note_page
from shared.models import Membership, PageSeen, Person, Role, SurveyorLink
from shared.surveyor_code import plain_code
from tests.factories import MORNING, PersonFactory
from tests.lift_factories import a_cart, a_site, with_role
from tests.surveying import DAY, come_in, link_for, surveys

pytestmark = pytest.mark.django_db
CODE = re.compile(r"<strong>(\w{5} \w{5})</strong>")
LINK = re.compile(re.escape(settings.FLEET_URL) + r"/s/([\w-]+)/")
AT = clock.now() - timedelta(hours=1)


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


def looks():
    return list(PageSeen.objects.order_by("pk").values_list("page", "address", "is_download"))


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


def test_each_page_and_each_download_of_a_surveyor_is_written_down(here, surveyor):
    site, by = here
    cart = a_cart(site, by, "104")
    bundle = bundles.ask(site, Cut(MORNING, MORNING), by=by, at=MORNING)
    jobs.run("bundle", bundle.pk, now=lambda: MORNING)
    base = len(looks())

    surveyor.get(of(site, "cart-list"), {"number": "10", "mark": "plain"})
    surveyor.head(of(site, "cart-detail", cart.pk))
    surveyor.get(of(site, "cart-list"), {"file": "csv"})
    surveyor.get(of(site, "bundle-file", bundle.pk)).close()

    assert looks()[base:] == [
        ("cart-list", "/harbour/carts/?number=10&mark=plain", False),
        ("cart-detail", f"/harbour/carts/{cart.pk}/", False),
        ("cart-list", "/harbour/carts/?file=csv", True),
        ("bundle-file", f"/harbour/bundles/{bundle.pk}/file/", True),
    ]
    row = PageSeen.objects.first()
    assert (row.site, row.person.email) == (site, "ansel@insurer.example")
    assert abs(row.at - clock.now()) < timedelta(minutes=1)


def test_coming_in_writes_down_the_first_page_and_no_secret(client, here, ansel):
    token, code = link_for(ansel, here[1])

    come_in(client, token, code)

    assert looks() == [("survey", "/harbour/surveyor/", False)]


def test_what_was_not_shown_is_not_written_down(here, surveyor):
    site = here[0]
    other, other_manager = a_site("osprey")
    foreign = a_cart(other, other_manager, "9")
    base = len(looks())

    answers = [
        surveyor.get(of(site, "board")).status_code,
        surveyor.get(of(site, "site-home")).status_code,
        surveyor.get(of(other, "cart-list")).status_code,
        surveyor.get(of(other, "cart-detail", foreign.pk)).status_code,
        surveyor.get(of(site, "cart-detail", foreign.pk)).status_code,
        surveyor.post(of(site, "cart-list")).status_code,
        surveyor.get("/account/").status_code,
    ]

    assert answers == [404, 302, 404, 404, 404, 405, 200]
    assert looks()[base:] == []


def test_a_page_that_waits_for_a_bundle_counts_when_it_is_there(here, surveyor):
    bundle = bundles.ask(here[0], Cut(MORNING, MORNING), by=here[1], at=MORNING)
    url = of(here[0], "bundle-detail", bundle.pk)
    base = len(looks())

    surveyor.get(url)
    surveyor.get(url)
    jobs.run("bundle", bundle.pk, now=lambda: MORNING)
    surveyor.get(url)

    assert looks()[base:] == [("bundle-detail", url, False)]


@pytest.mark.parametrize("role", [Role.MANAGER, Role.MECHANIC])
def test_looks_of_others_are_not_written_down(client, here, role):
    client.force_login(with_role(*here, role))

    client.get(of(here[0], "cart-list"))

    assert looks() == []


def test_one_with_two_roles_is_noted_where_they_survey(client, here):
    other = a_site("osprey")
    surveys(*here, person=other[1])
    client.force_login(other[1])

    client.get(of(other[0], "cart-list"))
    client.get(of(here[0], "cart-list"))

    assert looks() == [("cart-list", "/harbour/carts/", False)]


def test_a_look_that_cannot_be_written_spoils_no_page(here, surveyor, monkeypatch, caplog):
    def full(*args, **kwargs):
        raise DatabaseError("disk full")

    monkeypatch.setattr(actions, "note_page", full)

    assert surveyor.get(of(here[0], "cart-list")).status_code == 200
    assert "A look of a surveyor could not be written down" in caplog.text


def test_a_surveyors_browser_keeps_no_copy(here, surveyor):
    page = surveyor.get(of(here[0], "cart-list"))

    assert page["Cache-Control"] == "private, no-store"


def test_a_long_address_is_cut(here, surveyor):
    surveyor.get(of(here[0], "cart-list"), {"number": "9" * 600})

    address = PageSeen.objects.first().address
    assert len(address) == 300
    assert address.startswith("/harbour/carts/?number=999")


@pytest.mark.both
def test_looks_are_only_ever_added(here, ansel):
    note_page(here[0], ansel, "survey", "/harbour/surveyor/", is_download=False, at=AT)
    connection.check_constraints()

    for sql in ("UPDATE shared_pageseen SET page = 'x'", "DELETE FROM shared_pageseen"):
        with pytest.raises(DatabaseError, match="insert only"), transaction.atomic():
            connection.cursor().execute(sql)
    assert looks() == [("survey", "/harbour/surveyor/", False)]


def noted(site, person, count=1, *, page="survey", address="/harbour/surveyor/", **more):
    for n in range(count):
        about = {"is_download": False, "at": AT + n * timedelta(seconds=1)} | more
        note_page(site, person, page, address, **about)


def test_the_manager_sees_looks_newest_first_with_cart_and_download(manager, here, ansel):
    site, by = here
    cart = a_cart(site, by, "104")
    noted(site, ansel)
    file = {"page": "bundle-file", "address": "/harbour/bundles/x/file/", "is_download": True}
    noted(site, ansel, at=AT + DAY / 24, **file)
    address = of(site, "cart-detail", cart.pk)
    noted(site, ansel, page="cart-detail", address=address, at=AT + DAY / 12)

    table = manager.get(of(site, "surveyor-list")).context["table"]

    cells = [(row.get_cell("page"), row.get_cell("is_download")) for row in table.rows]
    assert cells == [
        ("cart detail, cart 104", "looked"),
        ("bundle file", "<strong>downloaded</strong>"),
        ("survey", "looked"),
    ]


def test_looks_are_filtered_by_person_and_other_sites_stay_out(manager, here, ansel):
    site, _by = here
    other = a_site("osprey")
    second = surveys(*here, person=PersonFactory(name="Second"))
    foreign = surveys(*other, person=PersonFactory(name="Foreign canary"))
    noted(site, ansel)
    noted(site, second, address="/harbour/surveyor/?second")
    noted(other[0], foreign, address="/osprey/surveyor/")

    page = manager.get(of(site, "surveyor-list"))
    chosen = manager.get(of(site, "surveyor-list"), {"person": str(second.pk)})

    assert len(page.context["table"].rows) == 2
    assert [r.record.person for r in chosen.context["table"].rows] == [second]
    assert "canary" not in page.text
    assert "osprey" not in page.text


def test_looks_as_csv_hold_all_rows(manager, here, ansel):
    noted(here[0], ansel, 101)
    noted(here[0], ansel, is_download=True, at=AT + DAY / 24)

    page = manager.get(of(here[0], "surveyor-list"))
    file = manager.get(of(here[0], "surveyor-list"), {"file": "csv"})

    lines = b"".join(file.streaming_content).decode("utf-8-sig").splitlines()
    assert "Rows 1 to 100 of 102" in page.text
    assert lines[0] == "When,Who,How,Page,Address"
    assert len(lines) == 103
    at = (AT + DAY / 24).isoformat()
    assert lines[1] == f"{at},{ansel.name},downloaded,survey,/harbour/surveyor/"


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_costs_the_same_however_many(
    manager, here, ansel, count, django_assert_num_queries
):
    for n in range(count):
        person = ansel if n == 0 else surveys(*here, person=PersonFactory())
        noted(here[0], person, count)

    with django_assert_num_queries(8):
        manager.get(of(here[0], "surveyor-list"))


def way_in(manager, site):
    table = manager.get(of(site, "surveyor-list")).context["surveyors"]
    return [(row.get_cell("way_in"), row.get_cell("last_look")) for row in table.rows]


def test_the_list_says_how_each_comes_in_and_their_last_look(manager, here, ansel):
    site, by = here
    today = site.day(clock.now()).strftime("%m/%d/%Y")
    assert way_in(manager, site) == [("none", "none")]
    link_for(ansel, by)
    assert way_in(manager, site) == [(f"link of {today}", "none")]
    actions.withdraw_links(ansel, by=by, at=clock.now())
    ansel.set_password("four words in a row")
    ansel.save()
    noted(site, ansel, at=MORNING)

    assert way_in(manager, site) == [(f"link withdrawn on {today}, password", "03/02/2026 08:00")]


def test_the_survey_page_says_until_when_and_gives_the_key_and_the_newest_bundle(
    manager, here, ansel, surveyor
):
    site, by = here
    made = []
    for at in (MORNING, MORNING + DAY):
        made.append(bundles.ask(site, Cut(MORNING, at), by=by, at=at))
        jobs.run("bundle", made[-1].pk, now=lambda at=at: at)
    bundles.ask(site, Cut(MORNING, MORNING + 2 * DAY), by=by, at=MORNING + 2 * DAY)

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


def test_every_page_tells_a_surveyor_that_it_is_written_down(manager, here, surveyor):
    told = "is written down and shown to the manager"

    assert told in surveyor.get(of(here[0], "cart-list")).text
    assert told not in manager.get(of(here[0], "cart-list")).text


def test_a_surveyor_can_hand_nothing_in(here, surveyor):
    site, by = here
    cart = a_cart(site, by, "104")
    for name in ("cart-note", "reading-create", "tag-create", "cart-order", "round-create"):
        assert surveyor.post(of(site, name, cart.pk), {"text": "x"}).status_code == 404
