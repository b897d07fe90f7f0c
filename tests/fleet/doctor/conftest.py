import pytest
from django.db import connection

from fleet.doctor import database
from tests.fleet.doctor.service_yard import Yard


@pytest.fixture
def yard(db, monkeypatch, django_capture_on_commit_callbacks):
    if connection.vendor == "postgresql":
        # the tests' own server is thrown away, and has these off
        monkeypatch.setattr(database, "MUST_BE_ON", ("synchronous_commit",))
        with connection.cursor() as cursor:
            cursor.execute("SET synchronous_commit = on")
    with django_capture_on_commit_callbacks(execute=True):
        # a checkpoint is kept outside once it is committed
        return Yard()
