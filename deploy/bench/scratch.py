"""A database and folders of the benchmark's own, gone when it ends."""

import tempfile
from contextlib import contextmanager
from pathlib import Path

from django.db import connection
from django.test.utils import override_settings

from deploy.demo.loading import load


@contextmanager
def demo_fleet(at):
    """Load the demo fleet as of a moment into a database that is dropped afterwards."""
    kept = connection.settings_dict["NAME"]
    with tempfile.TemporaryDirectory(prefix="bench-") as name, _apart(Path(name)):
        if connection.vendor == "sqlite":
            connection.settings_dict["TEST"]["NAME"] = str(Path(name) / "bench.sqlite3")
        connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
        try:
            load(at)
            _tidy()
            yield
        finally:
            connection.creation.destroy_test_db(kept, verbosity=0)


def _apart(folder):
    return override_settings(
        MEDIA_ROOT=folder / "media", KEYS=folder / "keys", CHECKPOINTS=folder / "checkpoints"
    )


def _tidy():
    """Let the planner know what was loaded."""
    with connection.cursor() as cursor:
        cursor.execute("VACUUM ANALYZE" if connection.vendor == "postgresql" else "ANALYZE")
