"""The demo's story, told once for all its tests."""

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
        with override_settings(**sealed_in):
            load(TOLD_AT)
        yield
        triggers.lift(connection)  # the flush lays them again
        call_command("flush", interactive=False, verbosity=0)


@pytest.fixture(autouse=True)
def reading_only(told, db, sealed_in, settings):
    """Every test reads the same loaded fleet."""
    for name, folder in sealed_in.items():
        setattr(settings, name, folder)
