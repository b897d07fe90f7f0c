"""The surveyor asks for an export, watches it made, and takes it away."""

import hashlib
import io
import zipfile
from datetime import timedelta

import pytest
from django.conf import settings
from django.urls import reverse

from fleet import tasks
from fleet.actions import exports, jobs
from fleet.jobs import kinds
from fleet.kinds import Cut
from fleet.models import Export
from shared import clock
from shared.clock import end_of
from tests.factories import MORNING
from tests.fleet.exporting import Fleet, exported, on

pytestmark = pytest.mark.django_db

State = Export.State
NOW = on(3, 20)


@pytest.fixture
def now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return NOW


@pytest.fixture
def rung(monkeypatch):
    """Count how often the worker was asked to look."""
    rung = []
    monkeypatch.setattr(tasks.start_jobs, "delay", lambda: rung.append("look"))
    return rung


@pytest.fixture
def fleet(now):
    return Fleet("harbour")


@pytest.fixture
def surveyor(client, fleet):
    client.force_login(fleet.surveyor)
    return client


def url(name, *pk):
    return reverse(f"export-{name}", args=["harbour", *pk])


def make(export, at=NOW):
    """Do the job of an export in this process, without a thread that renews its lease."""
    held = jobs.claim(kinds["export"], export.pk, at=at)
    held.finish(**exports.run(held.job, at=at, progress=held))
    export.refresh_from_db()
    return export


def an_export(fleet, at=NOW):
    return exports.ask(fleet.site, Cut(at, at), by=fleet.surveyor, at=at)


@pytest.mark.parametrize(
    ("asked", "happened_by", "known_by"),
    [
        ({"day": "2026-03-20", "known": "then"}, NOW, NOW),
        ({"day": "2026-03-10", "known": "then"}, "its end", "its end"),
        ({"day": "2026-03-10", "known": "now"}, "its end", NOW),
    ],
)
def test_surveyor_asks_for_a_day(surveyor, fleet, rung, asked, happened_by, known_by):
    response = surveyor.post(url("create"), asked)

    export = Export.objects.get()
    end = end_of(on(3, 10).date(), "America/New_York")
    moments = [end if moment == "its end" else moment for moment in (happened_by, known_by)]
    assert [export.happened_by, export.known_by] == moments
    assert (export.state, export.asked_by, export.site) == ("waiting", fleet.surveyor, fleet.site)
    assert response.url == url("detail", export.pk)
    assert rung == ["look"]


@pytest.mark.parametrize("day", ["2026-03-21", "", "10 March"])
def test_day_that_cannot_be_is_refused(surveyor, rung, day):
    response = surveyor.post(url("create"), {"day": day, "known": "then"})

    assert response.context["form"].errors.keys() == {"day"}
    assert (Export.objects.count(), rung) == (0, [])


def test_same_export_asked_for_twice_waits_once(surveyor, rung):
    for _press in range(2):
        surveyor.post(url("create"), {"day": "2026-03-10", "known": "then"})

    assert Export.objects.count() == 1


def test_no_more_exports_wait_than_may(surveyor, fleet, rung):
    for place in range(exports.MOST_UNFINISHED):
        an_export(fleet, NOW - timedelta(hours=place))

    response = surveyor.post(url("create"), {"day": "2026-03-10", "known": "then"}, follow=True)

    assert Export.objects.count() == exports.MOST_UNFINISHED
    assert "Enough exports are being made" in response.content.decode()


def test_page_looks_again_while_the_export_is_made(surveyor, fleet):
    export = an_export(fleet)
    waiting = surveyor.get(url("detail", export.pk))
    Export.objects.filter(pk=export.pk).update(state=State.RUNNING, progress=40)
    running = surveyor.get(url("detail", export.pk))
    Export.objects.filter(pk=export.pk).update(state=State.WAITING, progress=0)
    make(export)
    done = surveyor.get(url("detail", export.pk))

    assert [page.get("Refresh") for page in (waiting, running, done)] == ["2", "2", None]
    assert "running, 40 %" in running.content.decode()
    assert export.sha256 in done.content.decode()
    assert url("file", export.pk) in done.content.decode()


def test_file_is_what_its_fingerprint_says(surveyor, fleet, tmp_path):
    fleet.tell_everything()
    export = make(an_export(fleet))

    response = surveyor.get(url("file", export.pk))

    data = b"".join(response.streaming_content)
    assert hashlib.sha256(data).hexdigest() == export.sha256
    assert response["Content-Type"] == "application/zip"
    assert response["Content-Disposition"] == 'attachment; filename="harbour-2026-03-20.zip"'
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Cache-Control"] == "private, no-store"
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        register = archive.read("register.csv")
        assert f"Made by:         {fleet.surveyor.name}" in archive.read("README.txt").decode()
    assert register == exported(fleet.site, tmp_path, NOW).members["register.csv"]


def test_scratch_of_a_killed_process_is_cleared_away(fleet):
    export = an_export(fleet)
    folder = settings.MEDIA_ROOT / exports.FOLDER
    (folder / f".{export.pk}-killed").mkdir(parents=True)

    make(export)

    assert [path.name for path in folder.iterdir()] == [f"{export.pk}.zip"]


def test_cancelled_export_leaves_no_file(fleet):
    export = an_export(fleet)
    held = jobs.claim(kinds["export"], export.pk, at=NOW)
    jobs.cancel(export, at=NOW)
    held.renew()

    with pytest.raises(jobs.Cancelled):
        exports.run(held.job, at=NOW, progress=held)

    assert list((settings.MEDIA_ROOT / exports.FOLDER).iterdir()) == []


def test_cancel_on_the_page_ends_what_waits_and_nothing_else(surveyor, fleet):
    waiting, done = an_export(fleet), make(an_export(fleet, MORNING))

    for export in (waiting, done):
        surveyor.post(url("cancel", export.pk))

    states = dict(Export.objects.values_list("pk", "state"))
    assert states == {waiting.pk: State.CANCELLED, done.pk: State.DONE}


def test_file_that_is_gone_is_said_to_be(surveyor, fleet):
    export = make(an_export(fleet))
    exports.path_of(export).unlink()

    page = surveyor.get(url("detail", export.pk)).content.decode()

    assert "The file is not here any more" in page
    assert url("file", export.pk) not in page
    assert surveyor.get(url("file", export.pk)).status_code == 404


@pytest.mark.parametrize("state", [State.WAITING, State.RUNNING, State.FAILED, State.CANCELLED])
def test_file_of_an_export_that_is_not_done_is_not_found(surveyor, fleet, state):
    export = an_export(fleet)
    Export.objects.filter(pk=export.pk).update(state=state)

    assert surveyor.get(url("file", export.pk)).status_code == 404


@pytest.mark.parametrize("count", [1, 3])
def test_list_costs_the_same_however_long(surveyor, fleet, count, django_assert_num_queries):
    for place in range(count):
        make(an_export(fleet, NOW - timedelta(hours=place)))

    with django_assert_num_queries(6):
        response = surveyor.get(url("list"))

    rows = [row.record for row in response.context["table"].rows]
    assert [row.happened_by for row in rows] == [NOW - timedelta(hours=n) for n in range(count)]
    assert response.content.decode().count(">Download<") == count
