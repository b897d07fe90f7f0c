"""The page of the seal: the key, the checkpoints, and a restore recorded there."""

import csv
import io
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shared import clock, keys, triggers
from shared.models import Checkpoint, Entry, Restore, Role
from shared.sealing import make_checkpoint, rotate_key, statement_of
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site, with_role
from tests.taking_back import take_back

pytestmark = pytest.mark.django_db(transaction=True)

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
# 08:00 at the site
NOW = MORNING + DAY
DAILY = Checkpoint.Cause.DAILY


@pytest.fixture
def here(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return a_site()


@pytest.fixture
def site(here):
    return here[0]


@pytest.fixture
def manager(client, here):
    client.force_login(here[1])
    return client


@pytest.fixture
def surveyor(client, here):
    client.force_login(with_role(*here, Role.SURVEYOR))
    return client


def url(name="seal", **query):
    return reverse(name, args=["harbour"], query=query)


def shown(client):
    return client.get(url()).text


def sign(site, at=NOW):
    return make_checkpoint(site, at=at, cause=DAILY)


def lose(here, count):
    """Sign a journal and put back a copy of it that lacks its last entries."""
    site, by = here
    for number in "123":
        a_cart(site, by, number=number)
        sign(site, NOW - HOUR)
    size = sign(site).size
    take_back(site, size - count)
    return size


def test_the_newest_checkpoint_stands_there_as_it_was_signed(surveyor, site):
    sign(site, NOW - DAY)
    newest = sign(site)

    page = shown(surveyor)

    assert f">{statement_of(newest).text}</pre>" in page
    assert page.count("cart records checkpoint 1\n") == 1


def test_a_shorter_checkpoint_made_later_is_not_the_one_to_keep(surveyor, here):
    site, by = here
    longest = sign(site, NOW - 2 * HOUR)
    again = sign(site, NOW - HOUR)
    a_cart(site, by, at=NOW)
    known_by = MORNING - HOUR
    short = make_checkpoint(site, at=NOW, cause=Checkpoint.Cause.BUNDLE, known_by=known_by)
    assert short.size < longest.size == again.size

    page = shown(surveyor)

    assert f">{statement_of(again).text}</pre>" in page


def test_each_checkpoint_can_be_taken_away_as_it_was_signed(surveyor, site):
    old = sign(site, NOW - DAY)
    sign(site)
    address = reverse("checkpoint-file", args=["harbour", old.pk])
    assert f'href="{address}"' in shown(surveyor)

    response = surveyor.get(address)

    assert response.content.decode() == statement_of(old).text
    assert response["Content-Type"] == "text/plain; charset=us-ascii"
    assert response["Content-Disposition"] == 'attachment; filename="harbour-2026-03-02.txt"'


def test_the_key_is_shown_in_groups_with_the_day_from_which_it_signed(surveyor, site):
    sign(site)
    public = keys.public_hex()

    page = shown(surveyor)

    groups = " ".join(public[place : place + 4] for place in range(0, 64, 4))
    assert page.count(groups) == 1
    assert "In force since 03/03/2026 08:00" in page


def test_a_change_of_the_key_is_told_with_the_key_before(surveyor, here):
    site, by = here
    before = sign(site, NOW - HOUR).key
    rotate_key(by=by, at=NOW)

    page = shown(surveyor)

    assert "In force since 03/03/2026 08:00" in page
    assert f"Changed by {by}; the key before signed it." in page
    assert "Before, since 03/03/2026 07:00" in page
    assert " ".join(before[place : place + 4] for place in range(0, 64, 4)) in page


def test_a_lost_key_is_told_as_lost(surveyor, here, settings, tmp_path):
    site, by = here
    sign(site, NOW - HOUR)
    settings.KEYS = tmp_path / "new keys"
    rotate_key(by=by, at=NOW, lost=True)

    assert "the key before was lost and signed nothing." in shown(surveyor)


def test_before_the_first_checkpoint_there_is_the_key_alone(manager):
    page = shown(manager)

    assert "Nothing was signed yet." in page
    assert "Newest checkpoint" not in page


def test_the_list_as_a_file_gives_each_signed_text_again(surveyor, site):
    rows = [sign(site, NOW - hours * HOUR) for hours in (1, 2, 3)]

    body = b"".join(surveyor.get(url(file="csv")).streaming_content).decode("utf-8-sig")

    found = list(csv.DictReader(io.StringIO(body)))
    assert [again(row) for row in found] == [statement_of(row).text for row in rows]


def again(row):
    """The eight lines by the form of shared/checkpoint.py, from a line of the list."""
    return (
        "cart records checkpoint 1\n"
        f"site {row['Site']}\nepoch {row['Epoch']}\nsize {row['Journal entries']}\n"
        f"root {row['Root']}\ntime {row['Signed']}\n"
        f"key {row['Public key']}\nsignature {row['Signature']}\n"
    )


def queries_of(client):
    with CaptureQueriesContext(connection) as queries:
        client.get(url())
    return len(queries)


def test_three_checkpoints_cost_as_many_queries_as_one(surveyor, site):
    sign(site)
    queries_of(surveyor)
    with_one = queries_of(surveyor)
    for _ in range(2):
        sign(site)

    assert queries_of(surveyor) == with_one


def test_a_manager_is_told_what_is_missing(manager, here):
    size = lose(here, 2)

    page = shown(manager)

    assert f"Entries {size - 1} to {size} of epoch 1 are missing here." in page
    assert url("restore-create") in page
    assert "Newest checkpoint" not in page


def test_a_surveyor_is_not_asked_to_record_a_restore(surveyor, here):
    lose(here, 2)

    assert url("restore-create") not in shown(surveyor)
    assert surveyor.get(url("restore-create")).status_code == 404


def test_a_restore_needs_its_reason_and_names_the_gap(manager, here):
    size = lose(here, 2)
    gap = f"Entries {size - 1} to {size} of epoch 1 are missing."

    asked = manager.get(url("restore-create")).text
    refused = manager.post(url("restore-create"), {"reason": "  "})

    assert gap in asked
    assert (refused.status_code, Restore.objects.count()) == (200, 0)
    assert gap in refused.text

    manager.post(url("restore-create"), {"reason": "The disk died."})

    told = Restore.objects.get()
    assert (told.missing_from, told.missing_to, told.reason) == (size - 1, size, "The disk died.")
    assert told.by == here[1]
    page = shown(manager)
    said = f"entries {size - 1} to {size} are missing; epoch 2 began."
    assert f"03/03/2026 08:00, {here[1]}: {said}" in page
    assert "are missing here." not in page
    assert "with a restore" in page


def test_a_second_restore_finds_nothing_missing(manager, here):
    lose(here, 1)
    for _ in range(2):
        page = manager.post(url("restore-create"), {"reason": "The disk died."}, follow=True)

    assert "Nothing is missing: there is no restore to record." in page.text
    assert Restore.objects.count() == 1


def test_where_nothing_is_missing_there_is_no_form(manager, site):
    sign(site)

    page = manager.get(url("restore-create"), follow=True)

    assert page.request["PATH_INFO"] == url()
    assert "Nothing is missing" in page.text


def test_a_rewritten_journal_is_named_to_the_manager(manager, site):
    sign(site, NOW - DAY)
    triggers.lift(connection)
    Entry.objects.filter(site=site, seq=2).update(leaf=bytes(32))
    triggers.lay(connection)

    page = shown(manager)

    assert "The day's checkpoint could not be made." in page
    assert "Entry 2 of site" in page
    assert url("restore-create") not in page


def test_a_spoilt_checkpoint_outside_still_leaves_a_page(manager, site, settings):
    sign(site)
    (settings.CHECKPOINTS / f"{site.pk}.txt").write_text("spoilt")

    response = manager.get(url())

    assert response.status_code == 200
    assert "put back a copy of it" in response.text


def test_the_days_checkpoint_is_not_missed_before_the_morning(manager, site, monkeypatch):
    sign(site, NOW - DAY)
    triggers.lift(connection)
    Entry.objects.filter(site=site, seq=2).update(leaf=bytes(32))
    triggers.lay(connection)
    monkeypatch.setattr(clock, "now", lambda: NOW - 3 * HOUR)

    assert "could not be made" not in shown(manager)


@pytest.mark.parametrize("name", ["survey", "bundle-list"])
def test_the_pages_of_a_surveyor_lead_there(surveyor, name):
    assert f'href="{url()}"' in surveyor.get(url(name)).text.partition("<main")[2]
