"""The surveyor asks for a bundle, watches it made, and takes it away."""

import hashlib
import io
import zipfile
from datetime import timedelta

import pytest
from django.conf import settings
from django.urls import reverse

from fleet import tasks
from fleet.actions import bundles, jobs
from fleet.jobs import kinds
from fleet.kinds import Cut
from fleet.models import Bundle
from shared import clock
from shared.clock import end_of
from tests.factories import MORNING
from tests.fleet.bundling import Fleet, bundled, on

pytestmark = pytest.mark.django_db

State = Bundle.State
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
    return reverse(f"bundle-{name}", args=["harbour", *pk])


def make(bundle, at=NOW):
    """Do the job of a bundle in this process, without a thread that renews its lease."""
    held = jobs.claim(kinds["bundle"], bundle.pk, at=at)
    held.finish(**bundles.run(held.job, at=at, progress=held))
    bundle.refresh_from_db()
    return bundle


def an_bundle(fleet, at=NOW):
    return bundles.ask(fleet.site, Cut(at, at), by=fleet.surveyor, at=at)


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

    bundle = Bundle.objects.get()
    end = end_of(on(3, 10).date(), "America/New_York")
    moments = [end if moment == "its end" else moment for moment in (happened_by, known_by)]
    assert [bundle.happened_by, bundle.known_by] == moments
    assert (bundle.state, bundle.asked_by, bundle.site) == ("waiting", fleet.surveyor, fleet.site)
    assert response.url == url("detail", bundle.pk)
    assert rung == ["look"]


@pytest.mark.parametrize("day", ["2026-03-21", "", "10 March"])
def test_day_that_cannot_be_is_refused(surveyor, rung, day):
    response = surveyor.post(url("create"), {"day": day, "known": "then"})

    assert response.context["form"].errors.keys() == {"day"}
    assert (Bundle.objects.count(), rung) == (0, [])


def test_same_bundle_asked_for_twice_waits_once(surveyor, rung):
    for _press in range(2):
        surveyor.post(url("create"), {"day": "2026-03-10", "known": "then"})

    assert Bundle.objects.count() == 1


def test_no_more_bundles_wait_than_may(surveyor, fleet, rung):
    for place in range(bundles.MOST_UNFINISHED):
        an_bundle(fleet, NOW - timedelta(hours=place))

    response = surveyor.post(url("create"), {"day": "2026-03-10", "known": "then"}, follow=True)

    assert Bundle.objects.count() == bundles.MOST_UNFINISHED
    assert "Enough bundles are being made" in response.content.decode()


def test_page_looks_again_while_the_bundle_is_made(surveyor, fleet):
    bundle = an_bundle(fleet)
    waiting = surveyor.get(url("detail", bundle.pk))
    Bundle.objects.filter(pk=bundle.pk).update(state=State.RUNNING, progress=40)
    running = surveyor.get(url("detail", bundle.pk))
    Bundle.objects.filter(pk=bundle.pk).update(state=State.WAITING, progress=0)
    make(bundle)
    done = surveyor.get(url("detail", bundle.pk))

    assert [page.get("Refresh") for page in (waiting, running, done)] == ["2", "2", None]
    assert "running, 40 %" in running.content.decode()
    assert bundle.sha256 in done.content.decode()
    assert url("file", bundle.pk) in done.content.decode()


def test_file_is_what_its_fingerprint_says(surveyor, fleet, tmp_path):
    fleet.tell_everything()
    bundle = make(an_bundle(fleet))

    response = surveyor.get(url("file", bundle.pk))

    data = b"".join(response.streaming_content)
    assert hashlib.sha256(data).hexdigest() == bundle.sha256
    assert response["Content-Type"] == "application/zip"
    assert response["Content-Disposition"] == 'attachment; filename="harbour-2026-03-20.zip"'
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Cache-Control"] == "private, no-store"
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        register = archive.read("register.csv")
        assert f"Made by:         {fleet.surveyor.name}" in archive.read("README.txt").decode()
    assert register == bundled(fleet.site, tmp_path, NOW).members["register.csv"]


def test_scratch_of_a_killed_process_is_cleared_away(fleet):
    bundle = an_bundle(fleet)
    folder = settings.MEDIA_ROOT / bundles.FOLDER
    (folder / f".{bundle.pk}-killed").mkdir(parents=True)

    make(bundle)

    assert [path.name for path in folder.iterdir()] == [f"{bundle.pk}.zip"]


def test_cancelled_bundle_leaves_no_file(fleet):
    bundle = an_bundle(fleet)
    held = jobs.claim(kinds["bundle"], bundle.pk, at=NOW)
    jobs.cancel(bundle, at=NOW)
    held.renew()

    with pytest.raises(jobs.Cancelled):
        bundles.run(held.job, at=NOW, progress=held)

    assert list((settings.MEDIA_ROOT / bundles.FOLDER).iterdir()) == []


def test_cancel_on_the_page_ends_what_waits_and_nothing_else(surveyor, fleet):
    waiting, done = an_bundle(fleet), make(an_bundle(fleet, MORNING))

    for bundle in (waiting, done):
        surveyor.post(url("cancel", bundle.pk))

    states = dict(Bundle.objects.values_list("pk", "state"))
    assert states == {waiting.pk: State.CANCELLED, done.pk: State.DONE}


def test_file_that_is_gone_is_said_to_be(surveyor, fleet):
    bundle = make(an_bundle(fleet))
    bundles.path_of(bundle).unlink()

    page = surveyor.get(url("detail", bundle.pk)).content.decode()

    assert "The file is not here any more" in page
    assert url("file", bundle.pk) not in page
    assert surveyor.get(url("file", bundle.pk)).status_code == 404


@pytest.mark.parametrize("state", [State.WAITING, State.RUNNING, State.FAILED, State.CANCELLED])
def test_file_of_an_bundle_that_is_not_done_is_not_found(surveyor, fleet, state):
    bundle = an_bundle(fleet)
    Bundle.objects.filter(pk=bundle.pk).update(state=state)

    assert surveyor.get(url("file", bundle.pk)).status_code == 404


@pytest.mark.parametrize("count", [1, 3])
def test_list_costs_the_same_however_long(surveyor, fleet, count, django_assert_num_queries):
    for place in range(count):
        make(an_bundle(fleet, NOW - timedelta(hours=place)))

    # one of them notes the look
    with django_assert_num_queries(7):
        response = surveyor.get(url("list"))

    rows = [row.record for row in response.context["table"].rows]
    assert [row.happened_by for row in rows] == [NOW - timedelta(hours=n) for n in range(count)]
    assert response.content.decode().count(">Download<") == count
