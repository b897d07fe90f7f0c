"""What every test may ask for, and how thoroughly properties are tried."""

import os
from pathlib import Path

import pytest
from django.conf import settings as django_settings
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.db import connection, transaction
from django.test import TransactionTestCase
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings
from playwright.sync_api import sync_playwright
from xdist.scheduler import LoadScopeScheduling

from shared import triggers

hypothesis_settings.register_profile(
    "ci",
    deadline=None,
    max_examples=100,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
hypothesis_settings.register_profile(
    "long", deadline=None, max_examples=5_000, derandomize=False, print_blob=True
)
hypothesis_settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))

# the sync browser keeps an event loop; Django then refuses its own database
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Keep each file in one worker, and all that shares a loaded fleet in one."""
    return Together(config, log)


class Together(LoadScopeScheduling):
    # xdist's own groups are lost on this pytest, which keeps its ids elsewhere
    def _split_scope(self, nodeid):
        file = nodeid.partition("::")[0]
        folder = file.rpartition("/")[0]
        return folder if folder.endswith(("deploy/demo", "deploy/bench")) else file


@pytest.fixture(autouse=True, scope="session")
def flush_past_triggers():
    """Empty the tables after a test that commits, past the triggers."""
    flush = TransactionTestCase._fixture_teardown

    def lift_and_flush(case):
        if connection.vendor == "postgresql":
            empty_tables()
        else:
            triggers.lift(connection)
            # its own post_migrate lays them again
            flush(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", lift_and_flush)
        yield


def empty_tables():
    """Delete all rows: much quicker than a flush, which truncates and makes all anew."""
    kept = {"django_migrations", ContentType._meta.db_table, Permission._meta.db_table}
    tables = sorted(set(connection.introspection.table_names()) - kept)
    deletions = "; ".join(f'DELETE FROM "{table}"' for table in tables)
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"SET LOCAL session_replication_role = replica; {deletions}")
    if triggers.missing(connection):
        triggers.lay(connection)


@pytest.fixture(autouse=True)
def files_apart(settings, tmp_path):
    """Keep what a test uploads or signs out of the real folders."""
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.KEYS = tmp_path / "keys"
    settings.CHECKPOINTS = tmp_path / "checkpoints"


@pytest.fixture
def postgres():
    """Leave the test out where no PostgreSQL was brought up."""
    if "postgresql" not in django_settings.DATABASES["default"]["ENGINE"]:
        pytest.skip("needs PostgreSQL: run it by ./tests/run")


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Return where Debian keeps its Chromium."""
    path = Path(os.environ.get("FLEET_TEST_CHROMIUM", "/usr/bin/chromium"))
    if not path.exists():
        pytest.skip("needs Chromium: run it by ./tests/run")
    return str(path)


@pytest.fixture(scope="module")
def chromium(chromium_path):
    """A headless browser for one file: two at once in a process would share one event loop."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium_path,
            args=["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
        )
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker):
    """Make the test database, and end what still holds it before it is dropped.

    A thread or a child process of a test may be slow to let go.
    """
    yield
    if connection.vendor != "postgresql":
        return
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
            " WHERE datname = current_database() AND pid <> pg_backend_pid()"
        )
    # left open, it keeps the database from being dropped once a browser has run here
    connection.close()
