"""The checkers as people take them away from the site, and the SHA-256 that goes with them."""

import hashlib

import pytest
from django.urls import reverse

from fleet.bundle.archive import CHECKERS
from shared import clock
from tests.fleet.bundling import FOUNDED, Fleet

pytestmark = pytest.mark.django_db

CHECKED = ["py", "html"]


@pytest.fixture
def fleet(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: FOUNDED)
    return Fleet("harbour")


def taken(client, fleet, person, suffix):
    client.force_login(person)
    return client.get(reverse("bundle-check", args=[fleet.site.slug, suffix]))


@pytest.mark.parametrize("suffix", CHECKED)
def test_checker_is_taken_away_as_it_is(client, fleet, suffix):
    for person in (fleet.manager, fleet.surveyor):
        response = taken(client, fleet, person, suffix)

        assert b"".join(response.streaming_content) == (CHECKERS / f"check.{suffix}").read_bytes()
        assert response["Content-Disposition"] == f'attachment; filename="check.{suffix}"'


def test_there_are_no_other_checkers(client, fleet):
    assert taken(client, fleet, fleet.manager, "exe").status_code == 404


@pytest.mark.parametrize("suffix", CHECKED)
def test_page_of_bundles_shows_the_sha256(client, fleet, suffix):
    client.force_login(fleet.surveyor)

    page = client.get(reverse("bundle-list", args=[fleet.site.slug]))

    digest = hashlib.sha256((CHECKERS / f"check.{suffix}").read_bytes()).hexdigest()
    assert digest in page.content.decode()
