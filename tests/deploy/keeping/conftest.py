"""A site with a photo in a database of the test, and another place to put it back."""

import io
from contextlib import contextmanager
from datetime import timedelta
from uuid import uuid4

import psycopg
import pytest
from django.conf import settings as django_settings
from PIL import Image

from deploy.keeping import places
from shared import clock, photos
from shared.facts import record
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site

NOW = MORNING + timedelta(days=3)


def photo(site, by, shade=0, at=MORNING):
    """Keep a photo at a site and record it."""
    file = io.BytesIO()
    Image.new("L", (8, 8), shade).save(file, "JPEG")
    file.seek(0)
    taken = photos.take(file, site=site, by=by, done_at=at)
    return record(taken, at=at)


@pytest.fixture
def shop(db, monkeypatch, settings, tmp_path):
    """Return a site with a cart and a photo, and its manager."""
    monkeypatch.setattr(clock, "now", lambda: NOW)
    settings.VAR = tmp_path / "var"
    settings.VAR.mkdir()
    settings.BACKUPS, settings.BACKUP_KEY = tmp_path / "backups", None
    (settings.VAR / "secret").write_text("s" * 60)
    site, manager = a_site()
    a_cart(site, manager)
    photo(site, manager)
    return site, manager


@contextmanager
def a_database():
    """Yield the address of an empty database beside the tests' own."""
    at, name = django_settings.DATABASES["default"], f"kept_{uuid4().hex[:8]}"
    server = {"host": at["HOST"], "user": at["USER"]}
    with psycopg.connect(dbname="postgres", autocommit=True, **server) as asked:
        asked.execute(f"CREATE DATABASE {name}")
        try:
            yield f"postgresql://{at['USER']}@/{name}?host={at['HOST']}"
        finally:
            asked.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def elsewhere(shop, tmp_path):
    """Return what --into is told: an empty place of the same kind."""
    if places.here().kind == places.SQLITE:
        yield str(tmp_path / "there")
        return
    with a_database() as address:
        yield address
