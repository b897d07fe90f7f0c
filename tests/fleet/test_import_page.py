"""The Import page: a sheet is looked at, then brought in whole, left, or named wrong."""

import re
from datetime import date, timedelta

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from fleet.actions import jobs
from fleet.models import Cart, ImportRun, Reading
from shared import clock
from shared.models import Entry, Role
from tests.factories import MORNING
from tests.fleet.sheet_samples import csv_bytes
from tests.lift_factories import a_cart, a_kit, a_site, with_role

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: MORNING + DAY)


@pytest.fixture
def place():
    return a_site()


@pytest.fixture
def site(place):
    return place[0]


@pytest.fixture
def manager(place):
    return place[1]


@pytest.fixture
def page(client, manager):
    client.force_login(manager)
    return client


def upload(page, site, content, sheet="carts", name="fleet.csv", **more):
    """Send a sheet, let its process look at it, and return its run."""
    file = SimpleUploadedFile(name, content)
    address = reverse("import", args=[site.slug])
    answer = page.post(address, {"sheet": sheet, "file": file, **more})
    assert answer.status_code == 302, answer.context["form"].errors
    return worked()


def worked():
    """Let the process of the last run do its work."""
    run = ImportRun.objects.latest("asked_at", "id")
    jobs.run("import", run.pk, now=clock.now)
    run.refresh_from_db()
    return run


def shown(page, run):
    return page.get(reverse("import-run", args=[run.site.slug, run.pk]))


def press(page, run, act, **said):
    return page.post(reverse(f"import-{act}", args=[run.site.slug, run.pk]), said)


CARTS = csv_bytes([["Cart", "Bay", "Wheel nut size"], ["1", "A1", "19"], ["2", "A2", "19"]])


def test_a_sheet_is_looked_at_first_and_writes_nothing(page, site):
    entries = Entry.objects.count()

    run = upload(page, site, CARTS)

    text = shown(page, run).content.decode()
    assert (run.state, run.is_trial) == ("done", True)
    assert "Columns that are not read: Wheel nut size" in text
    assert text.count("new cart") == 2
    assert Entry.objects.count() == entries


def test_a_confirmed_sheet_comes_in_once(page, site):
    run = upload(page, site, CARTS)

    press(page, run, "confirm")
    worked()
    press(page, run, "confirm")
    again = worked()

    assert sorted(Cart.objects.values_list("number", "bay")) == [("1", "A1"), ("2", "A2")]
    assert (again.state, again.is_trial) == ("done", False)
    text = shown(page, run).content.decode()
    assert "brought in" in text and "Bring it in" not in text


@pytest.mark.parametrize(
    ("sheet", "after"),
    [("carts", "fittings"), ("fittings", "readings"), ("readings", None)],
)
def test_a_sheet_that_came_in_leads_to_the_carts_and_the_next_sheet(page, site, sheet, after):
    run = upload(page, site, CARTS)
    looked_at = shown(page, run).content.decode()
    ImportRun.objects.filter(pk=run.pk).update(sheet=sheet, is_trial=False)

    came_in = shown(page, run).content.decode()

    carts = f'href="{reverse("cart-list", args=[site.slug])}">See the carts'
    assert (carts in looked_at, carts in came_in) == (False, True)
    assert re.findall(r"import/\?sheet=(\w+)", came_in) == ([after] if after else [])


def test_the_next_sheet_is_chosen_beforehand(page, site):
    asked = page.get(reverse("import", args=[site.slug]), {"sheet": "fittings"})

    assert asked.context["form"]["sheet"].value() == "fittings"


def test_the_same_sheet_again_says_that_it_changes_nothing(page, site):
    press(page, upload(page, site, CARTS), "confirm")
    worked()

    run = upload(page, site, CARTS)

    text = shown(page, run).content.decode()
    assert "This sheet changes nothing" in text and "Bring it in" not in text


def test_a_wrong_row_is_named_and_cannot_be_confirmed(page, site):
    content = csv_bytes([["Cart", "Seats"], ["1", "four"]])

    run = upload(page, site, content)

    text = shown(page, run).content.decode()
    assert "line 2" in text and "four" in text and "a number such as 4" in text
    assert "Bring it in" not in text
    press(page, run, "confirm")
    worked()
    assert not Cart.objects.exists()


def test_what_changed_meanwhile_is_judged_at_the_confirming(page, site, manager):
    run = upload(page, site, csv_bytes([["Cart", "Serial"], ["1", "S-1"]]))
    a_cart(site, manager, "1", serial="S-2")

    press(page, run, "confirm")
    run = worked()

    assert (run.state, run.is_trial) == ("done", True)
    assert "a number that no other cart carries" in shown(page, run).content.decode()
    assert Cart.objects.get().serial == "S-2"


def test_what_is_in_question_needs_a_word(page, site, manager):
    a_cart(site, manager, "1", at=MORNING - 9 * DAY)
    rows = [["1", "2026-02-20", "10"], ["1", "2026-02-21", "40"]]
    run = upload(page, site, csv_bytes([["Cart", "Date", "Hours"], *rows]), sheet="readings")

    press(page, run, "confirm")
    unanswered = worked()
    press(page, run, "confirm", accept_questioned="on")
    worked()

    assert unanswered.is_trial is True
    assert Reading.objects.count() == 2


def test_lifts_come_in_with_a_start_day(page, site, manager):
    a_kit(site, manager)
    cart = a_cart(site, manager, "1")
    content = csv_bytes([["Cart", "Kit", "Fitted on"], ["1", "trial-kit", "2024-05-02"]])

    run = upload(page, site, content, sheet="fittings", start_day="2026-03-02")
    press(page, run, "confirm")
    worked()

    site.refresh_from_db()
    cart.refresh_from_db()
    assert (site.start_day, cart.unrecorded_before) == (date(2026, 3, 2), date(2026, 3, 2))
    assert cart.condition == "in use"


def test_lifts_with_a_start_day_years_ahead_are_not_looked_at(page, site):
    address = reverse("import", args=[site.slug])
    file = SimpleUploadedFile("lifts.csv", csv_bytes([["Cart", "Kit"], ["1", "trial-kit"]]))
    sent = {"sheet": "fittings", "file": file, "start_day": "2099-01-01"}

    refused = page.post(address, sent)

    (said,) = refused.context["form"].errors["start_day"]
    assert "is more than a year ahead" in said
    assert not ImportRun.objects.exists()


def test_a_file_that_is_no_table_says_why(page, site):
    run = upload(page, site, b"%PDF-1.7 no table", name="list.pdf")

    assert run.state == "failed"
    assert run.message in shown(page, run).content.decode()


def test_a_file_beyond_the_limit_is_refused_at_once(page, site):
    file = SimpleUploadedFile("big.csv", b"Cart\n" + b"1\n" * 5_000_001)

    answer = page.post(reverse("import", args=[site.slug]), {"sheet": "carts", "file": file})

    assert "at most 10 MB are read" in answer.context["form"].errors["file"][0]
    assert not ImportRun.objects.exists()


def test_a_sheet_that_was_left_is_forgotten(page, site):
    run = upload(page, site, CARTS)

    press(page, run, "drop")

    assert not ImportRun.objects.exists()
    assert not default_storage.exists(run.file)


def test_a_sheet_that_came_in_stays(page, site):
    run = upload(page, site, CARTS)
    press(page, run, "confirm")
    worked()

    press(page, run, "drop")

    assert ImportRun.objects.count() == 1
    assert default_storage.exists(run.file)


def test_a_sheet_left_before_it_was_looked_at_is_cancelled(page, site):
    file = SimpleUploadedFile("fleet.csv", CARTS)
    page.post(reverse("import", args=[site.slug]), {"sheet": "carts", "file": file})
    run = ImportRun.objects.get()
    waiting = shown(page, run)

    press(page, run, "drop")

    assert waiting["Refresh"] == "2"
    assert jobs.run("import", run.pk, now=clock.now) is None
    assert ImportRun.objects.get().state == "cancelled"


def test_the_page_shows_each_sheet_and_a_sample_that_can_be_brought_in(page, site):
    for sheet in ("carts", "fittings", "readings"):
        answer = page.get(reverse("import-sample", args=[site.slug, sheet]))
        assert answer["Content-Disposition"] == f'attachment; filename="{sheet}.csv"'

    sample = page.get(reverse("import-sample", args=[site.slug, "carts"])).content
    run = upload(page, site, sample)

    assert (run.report["counts"]["new"], run.report["faults"]) == (1, [])
    assert page.get(reverse("import", args=[site.slug])).status_code == 200
    assert page.get(reverse("import-sample", args=[site.slug, "kits"])).status_code == 404


@pytest.mark.parametrize("role", [Role.MECHANIC, Role.DESK, Role.SURVEYOR])
def test_only_a_manager_brings_sheets_in(client, site, manager, role):
    client.force_login(with_role(site, manager, role))

    answer = client.get(reverse("import", args=[site.slug]))

    assert answer.status_code == 404


def test_the_sheet_of_another_site_is_not_found(page, site):
    other, stranger = a_site("far")
    run = upload(page, site, CARTS)
    page.force_login(stranger)

    assert page.get(reverse("import-run", args=[other.slug, run.pk])).status_code == 404
    assert shown(page, run).status_code == 404


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_of_sheets_costs_the_same_however_long(
    page, site, count, django_assert_num_queries
):
    for _n in range(count):
        upload(page, site, CARTS)

    with django_assert_num_queries(4):
        answer = page.get(reverse("import", args=[site.slug]))

    assert len(answer.context["table"].rows) == count
