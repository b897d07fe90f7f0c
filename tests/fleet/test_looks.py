"""What is written down of a surveyor's looks, and how the manager sees it."""

from datetime import timedelta

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.urls import reverse

from fleet.models import Bundle
from shared import actions, clock
from shared.actions import note_page
from shared.models import PageSeen, Role
from tests.factories import MORNING, PersonFactory
from tests.lift_factories import a_cart, a_site, with_role
from tests.surveying import DAY, a_bundle, come_in, link_for, surveys

pytestmark = pytest.mark.django_db
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


def looks():
    return list(PageSeen.objects.order_by("pk").values_list("page", "address", "is_download"))


def test_each_page_and_each_download_of_a_surveyor_is_written_down(here, surveyor):
    site, by = here
    cart = a_cart(site, by, "104")
    bundle = a_bundle(site, by, MORNING)
    base = len(looks())

    surveyor.get(of(site, "cart-list"), {"number": "10", "mark": "plain"})
    surveyor.head(of(site, "cart-detail", cart.pk))
    surveyor.get(of(site, "cart-list"), {"file": "csv"})
    file = surveyor.get(of(site, "bundle-file", bundle.pk))
    assert b"".join(file.streaming_content)

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
    bundle = a_bundle(*here, MORNING, Bundle.State.RUNNING)
    url = of(here[0], "bundle-detail", bundle.pk)
    base = len(looks())

    surveyor.get(url)
    surveyor.get(url)
    Bundle.objects.update(state=Bundle.State.DONE)
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


def test_every_page_tells_a_surveyor_that_it_is_written_down(manager, here, surveyor):
    told = "is written down and shown to the manager"

    assert told in surveyor.get(of(here[0], "cart-list")).text
    assert told not in manager.get(of(here[0], "cart-list")).text
