"""A full disk: the page says that nothing was saved, and nothing half is there."""

import errno
import os
import subprocess
import sys
from datetime import timedelta

import psycopg
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.files.uploadhandler import TemporaryFileUploadHandler
from django.db import OperationalError, connection
from django.urls import reverse

from fleet.models import Report
from shared import clock, durable, facts
from shared.disk import is_full
from shared.models import Entry, JournalHead, Role, new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site, with_role

pytestmark = pytest.mark.django_db(transaction=True)

NOW = MORNING + timedelta(days=3)
FULL = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


@pytest.fixture
def cart(client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    client.raise_request_exception = False
    site, manager = a_site()
    client.force_login(with_role(site, manager, Role.DESK))
    return a_cart(site, manager)


def send(client, cart, act=None, **more):
    address = reverse("report-create", args=[cart.site.slug, cart.pk])
    return client.post(address, {"act": str(act or new_id()), "noticed": "noise", **more})


def held():
    return (Report.objects.count(), Entry.objects.count(), JournalHead.objects.get().size)


def raising(error):
    def fail(*args, **kwargs):
        raise error

    return fail


def said_full(response):
    page = response.content.decode()
    return (response.status_code, "<h1>Nothing was saved: the disk is full</h1>" in page)


def test_while_an_entry_is_appended(cart, client, monkeypatch):
    before, act = held(), new_id()
    with monkeypatch.context() as patch:
        patch.setattr(facts, "insert_rows", raising(FULL))
        response = send(client, cart, act)

    assert (said_full(response), held()) == ((507, True), before)

    assert send(client, cart, act).status_code == 302
    assert Report.objects.count() == 1


def test_while_an_upload_is_read(cart, client, monkeypatch):
    before = held()
    monkeypatch.setattr(TemporaryFileUploadHandler, "receive_data_chunk", raising(FULL))

    response = send(client, cart, photo=SimpleUploadedFile("photo.jpg", bytes(3_000_000)))

    assert (said_full(response), held()) == ((507, True), before)


def test_another_fault_is_no_full_disk(cart, client, monkeypatch):
    monkeypatch.setattr(facts, "insert_rows", raising(OSError(errno.EIO, "I/O")))

    response = send(client, cart)

    assert (response.status_code, b"Something broke here" in response.content) == (500, True)


def wrapped(error):
    """Return an error as Django raises it for one of the database's own."""
    outer = OperationalError(*error.args)
    outer.__cause__ = error
    return outer


@pytest.mark.parametrize(
    ("error", "is_so"),
    [
        (FULL, True),
        (OSError(errno.EDQUOT, "quota"), True),
        (wrapped(psycopg.errors.DiskFull("no space left on device")), True),
        (wrapped(psycopg.errors.LockNotAvailable("locked")), False),
        (OSError(errno.EACCES, "denied"), False),
        (ValueError("other"), False),
        (None, False),
    ],
)
def test_what_is_a_full_disk(error, is_so):
    assert is_full(error) is is_so


def test_a_database_of_sqlite_that_may_not_grow_is_a_full_disk(tmp_path):
    """The library itself says so: sqlite.org/pragma.html#pragma_max_page_count."""
    if connection.vendor != "sqlite":
        pytest.skip("asks SQLite")
    with connection.cursor() as cursor:
        (pages,) = cursor.execute("PRAGMA page_count").fetchone()
        (most,) = cursor.execute("PRAGMA max_page_count").fetchone()
        cursor.execute(f"PRAGMA max_page_count = {pages + 1}")
        try:
            with pytest.raises(OperationalError, match="full") as told:
                cursor.execute("CREATE TABLE filler AS SELECT randomblob(200000)")
        finally:
            cursor.execute(f"PRAGMA max_page_count = {most}")

    assert is_full(told.value)


@pytest.fixture
def small_disk(tmp_path):
    """Return a folder on a disk of 12 MB, and leave the test out where none may be mounted."""
    folder = tmp_path / "small"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=12m", "tmpfs", str(folder)]
    if os.geteuid() or subprocess.run(mount, capture_output=True).returncode:
        pytest.skip("needs root, and a kernel that mounts tmpfs")
    yield folder
    subprocess.run(["umount", str(folder)], check=True)


def test_a_file_on_a_full_disk_is_whole_or_not_there(small_disk):
    durable.replace(small_disk / "kept", b"before")
    (small_disk / "filler").write_bytes(bytes(11_500_000))

    with pytest.raises(OSError, match="No space left") as told:
        durable.replace(small_disk / "kept", bytes(2_000_000))

    assert is_full(told.value)
    assert (small_disk / "kept").read_bytes() == b"before"
    assert sorted(path.name for path in small_disk.iterdir()) == ["filler", "kept"]


def test_sqlite_on_a_full_disk_keeps_what_was_committed(small_disk):
    """In a process of its own: the library and a real disk, no fake."""
    program = """
import sqlite3, sys
from deploy import sqlite
from shared.disk import is_full
found = sqlite3.connect(sys.argv[1], isolation_level=None)
for pragma in sqlite.options(sqlite3.sqlite_version_info)["init_command"].split(";"):
    found.execute(pragma)
found.execute("CREATE TABLE kept (body)")
done = 0
try:
    while True:
        found.execute("INSERT INTO kept VALUES (randomblob(100000))")
        done += 1
except sqlite3.Error as error:
    rows = found.execute("SELECT count(*) FROM kept").fetchone()[0]
    print(is_full(error), rows == done, found.execute("PRAGMA integrity_check").fetchone()[0])
"""
    ran = subprocess.run(
        [sys.executable, "-c", program, small_disk / "some.sqlite3"],
        capture_output=True,
        text=True,
    )

    assert (ran.stdout, ran.stderr) == ("True True ok\n", "")
