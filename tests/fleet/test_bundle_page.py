"""The surveyor asks for a bundle, watches it made, and takes it away."""

import hashlib
import io
import json
import zipfile
from datetime import date, timedelta

import pytest
from django.conf import settings
from django.urls import reverse

from fleet import tasks
from fleet.actions import bundles, jobs
from fleet.bundle.archive import CHECKERS
from fleet.jobs import kinds
from fleet.kinds import Cut
from fleet.models import Bundle
from fleet.tables.bundles import file_name
from shared import clock
from shared.sealing import statement_of
from tests.factories import MORNING
from tests.fleet.bundling import Fleet, bundled, no_papers, on

pytestmark = pytest.mark.django_db

State = Bundle.State
QUERIES = 6
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
def fleet(now, monkeypatch):
    monkeypatch.setattr(bundles, "write_papers", no_papers)
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


def a_bundle(fleet, at=NOW):
    return bundles.ask(fleet.site, Cut(at, at), by=fleet.surveyor, at=at)


@pytest.mark.parametrize(
    ("happened", "known", "cut"),
    [
        ("", "", Cut(NOW, NOW)),
        ("2026-03-10T14:05", "2026-03-11T08:00", Cut(on(3, 10, 14, 5), on(3, 11, 8))),
        ("2026-03-10T14:05", "", Cut(on(3, 10, 14, 5), NOW)),
        ("", "2026-03-11T08:00", Cut(on(3, 11, 8), on(3, 11, 8))),
    ],
)
def test_surveyor_asks_for_two_moments(surveyor, fleet, rung, happened, known, cut):
    response = surveyor.post(url("create"), {"happened": happened, "known": known})

    bundle = Bundle.objects.get()
    assert Cut(bundle.happened_by, bundle.known_by) == cut
    assert (bundle.state, bundle.asked_by, bundle.site) == ("waiting", fleet.surveyor, fleet.site)
    assert (bundle.from_day, bundle.lifted_only, bundle.with_names) == (None, False, False)
    assert response.url == url("detail", bundle.pk)
    assert rung == ["look"]


def test_surveyor_asks_for_a_scope(surveyor, rung):
    asked = {"from_day": "2026-03-04", "lifted_only": "on", "with_names": "on"}

    response = surveyor.post(url("create"), asked, follow=True)

    bundle = Bundle.objects.get()
    assert (bundle.from_day, bundle.lifted_only, bundle.with_names) == (
        date(2026, 3, 4),
        True,
        True,
    )
    words = "lifted carts, from 03/04/2026, with names"
    assert words in response.content.decode()
    assert words in surveyor.get(url("list")).content.decode()


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"happened": "2026-03-20T09:01"}, "happened"),
        ({"happened": "10 March"}, "happened"),
        ({"known": "2026-03-21T00:00"}, "known"),
        ({"from_day": "10 March"}, "from_day"),
        ({"happened": "2026-03-10T14:05", "from_day": "2026-03-11"}, "from_day"),
    ],
)
def test_what_cannot_be_is_refused(surveyor, rung, asked, field):
    response = surveyor.post(url("create"), asked)

    assert response.context["form"].errors.keys() == {field}
    assert (Bundle.objects.count(), rung) == (0, [])


def test_same_bundle_asked_for_twice_waits_once(surveyor, rung):
    for _press in range(2):
        surveyor.post(url("create"), {"happened": "2026-03-10T14:05"})

    assert Bundle.objects.count() == 1
    surveyor.post(url("create"), {"happened": "2026-03-10T14:05", "lifted_only": "on"})
    assert Bundle.objects.count() == 2


def test_no_more_bundles_wait_than_may(surveyor, fleet, rung):
    for place in range(bundles.MOST_UNFINISHED):
        a_bundle(fleet, NOW - timedelta(hours=place))

    response = surveyor.post(url("create"), {"happened": "2026-03-10T14:05"}, follow=True)

    assert Bundle.objects.count() == bundles.MOST_UNFINISHED
    assert "Enough bundles are being made" in response.content.decode()


def test_page_looks_again_while_the_bundle_is_made(surveyor, fleet):
    bundle = a_bundle(fleet)
    waiting = surveyor.get(url("detail", bundle.pk))
    Bundle.objects.filter(pk=bundle.pk).update(state=State.RUNNING, progress=40)
    running = surveyor.get(url("detail", bundle.pk))
    Bundle.objects.filter(pk=bundle.pk).update(state=State.WAITING, progress=0)
    make(bundle)
    done = surveyor.get(url("detail", bundle.pk))

    assert [page.get("Refresh") for page in (waiting, running, done)] == ["2", "2", None]
    assert "running, 40 %" in running.content.decode()
    assert statement_of(bundle.checkpoint).text in done.content.decode()
    assert bundle.checkpoint.cause == "bundle"
    for shown in (bundle.sha256, bundle.fingerprint):
        assert shown in done.content.decode()
    assert url("file", bundle.pk) in done.content.decode()


def test_file_is_named_for_its_moments_and_its_scope(fleet):
    cut = Cut(on(3, 5, 14, 5), NOW)
    about = {"from_day": date(2026, 3, 1), "lifted_only": True, "with_names": True}
    whole, part = a_bundle(fleet), bundles.ask(fleet.site, cut, by=fleet.surveyor, at=NOW, **about)

    assert file_name(whole, fleet.site) == "harbour-2026-03-20-0900.zip"
    told = "harbour-2026-03-05-1405-known-2026-03-20-0900-from-2026-03-01-lifted-names.zip"
    assert file_name(part, fleet.site) == told


def test_file_is_what_its_fingerprint_says(surveyor, fleet, tmp_path):
    fleet.tell_everything()
    bundle = make(a_bundle(fleet))

    response = surveyor.get(url("file", bundle.pk))

    data = b"".join(response.streaming_content)
    assert hashlib.sha256(data).hexdigest() == bundle.sha256
    assert response["Content-Type"] == "application/zip"
    assert response["Content-Disposition"] == 'attachment; filename="harbour-2026-03-20-0900.zip"'
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Cache-Control"] == "private, no-store"
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        manifest = json.loads(archive.read("manifest.json"))
        signed = archive.read("checkpoint.txt").decode()
    assert manifest["made_by"] == "P-0003"
    assert manifest["content"] == bundle.fingerprint
    assert signed == statement_of(bundle.checkpoint).text
    asked = bundled(fleet.site, tmp_path, NOW)
    assert asked.manifest["content"] == bundle.fingerprint


def test_scratch_of_a_killed_process_is_cleared_away(fleet):
    bundle = a_bundle(fleet)
    folder = settings.MEDIA_ROOT / bundles.FOLDER
    (folder / f".{bundle.pk}-killed").mkdir(parents=True)

    make(bundle)

    assert [path.name for path in folder.iterdir()] == [f"{bundle.pk}.zip"]


def test_cancelled_bundle_leaves_no_file(fleet):
    bundle = a_bundle(fleet)
    held = jobs.claim(kinds["bundle"], bundle.pk, at=NOW)
    jobs.cancel(bundle, at=NOW)
    held.renew()

    with pytest.raises(jobs.Cancelled):
        bundles.run(held.job, at=NOW, progress=held)

    assert list((settings.MEDIA_ROOT / bundles.FOLDER).iterdir()) == []


def test_cancel_on_the_page_ends_what_waits_and_nothing_else(surveyor, fleet):
    waiting, done = a_bundle(fleet), make(a_bundle(fleet, MORNING))

    for bundle in (waiting, done):
        surveyor.post(url("cancel", bundle.pk))

    states = dict(Bundle.objects.values_list("pk", "state"))
    assert states == {waiting.pk: State.CANCELLED, done.pk: State.DONE}


def test_file_that_is_gone_is_said_to_be(surveyor, fleet):
    bundle = make(a_bundle(fleet))
    bundles.path_of(bundle).unlink()

    page = surveyor.get(url("detail", bundle.pk)).content.decode()

    assert "The file is not here any more" in page
    assert url("file", bundle.pk) not in page
    assert surveyor.get(url("file", bundle.pk)).status_code == 404


@pytest.mark.parametrize("state", [State.WAITING, State.RUNNING, State.FAILED, State.CANCELLED])
def test_file_of_a_bundle_that_is_not_done_is_not_found(surveyor, fleet, state):
    bundle = a_bundle(fleet)
    Bundle.objects.filter(pk=bundle.pk).update(state=state)

    assert surveyor.get(url("file", bundle.pk)).status_code == 404


@pytest.mark.parametrize("count", [1, 3])
def test_list_costs_the_same_however_long(surveyor, fleet, count, django_assert_num_queries):
    for place in range(count):
        make(a_bundle(fleet, NOW - timedelta(hours=place)))

    # one of them notes the look
    with django_assert_num_queries(7):
        response = surveyor.get(url("list"))

    rows = [row.record for row in response.context["table"].rows]
    assert [row.happened_by for row in rows] == [NOW - timedelta(hours=n) for n in range(count)]
    assert response.content.decode().count(">Download<") == count


@pytest.mark.parametrize("suffix", ["py", "html"])
def test_checker_may_be_taken_away_alone(surveyor, suffix):
    response = surveyor.get(url("check", suffix))

    assert b"".join(response.streaming_content) == (CHECKERS / f"check.{suffix}").read_bytes()
    assert response["Content-Disposition"] == f'attachment; filename="check.{suffix}"'


def test_nothing_else_is_handed_out_as_a_checker(surveyor):
    assert surveyor.get(url("check", "pyc")).status_code == 404


def test_journal_that_cannot_be_signed_fails_the_bundle_in_words(fleet, settings):
    bundle = a_bundle(fleet)
    settings.KEYS.mkdir(exist_ok=True)
    settings.KEYS.chmod(0o755)

    state = jobs.run("bundle", bundle.pk, now=lambda: NOW)

    bundle.refresh_from_db()
    assert state == State.FAILED
    assert "run chmod 700" in bundle.message
