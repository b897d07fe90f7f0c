"""The demo's story, told once for all its tests."""

from contextlib import contextmanager
from uuid import uuid4

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import override_settings

from deploy.demo.loading import load
from shared import triggers
from tests.deploy.demo.told import TOLD_AT


@pytest.fixture(scope="package")
def sealed_in(tmp_path_factory):
    """Folders of the key, the checkpoints and the photos of the whole story."""
    folder = tmp_path_factory.mktemp("sealed")
    return {
        "KEYS": folder / "keys",
        "CHECKPOINTS": folder / "checkpoints",
        "MEDIA_ROOT": folder / "media",
    }


@pytest.fixture(scope="package")
def told(django_db_setup, django_db_blocker, sealed_in):
    with django_db_blocker.unblock():
        with override_settings(**sealed_in), the_apps_rights():
            load(TOLD_AT)
        yield
        triggers.lift(connection)  # the flush lays them again
        call_command("flush", interactive=False, verbosity=0)


@contextmanager
def the_apps_rights():
    """On PostgreSQL, go on with the rights that test_roles.py sees the app's role to have."""
    if connection.vendor != "postgresql":
        yield
        return
    kept = {model._meta.db_table for model in triggers.kept_models()}
    others = set(connection.introspection.table_names()) - kept
    role = f"app_{uuid4().hex[:8]}"
    with connection.cursor() as cursor:
        cursor.execute(
            f"CREATE ROLE {role};"
            f"GRANT SELECT, INSERT ON {', '.join(kept)} TO {role};"
            f"GRANT SELECT, INSERT, UPDATE, DELETE ON {', '.join(others)} TO {role};"
            f"GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA public TO {role};"
            f"SET ROLE {role}"
        )
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute(f"RESET ROLE; DROP OWNED BY {role}; DROP ROLE {role}")


@pytest.fixture(autouse=True)
def reading_only(told, db, sealed_in, settings):
    """Every test reads the same loaded fleet."""
    for name, folder in sealed_in.items():
        setattr(settings, name, folder)
