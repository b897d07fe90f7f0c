"""A live server and a phone: what the browser tests share."""

from contextlib import ExitStack

import pytest
from django.core.management import call_command
from django.db import connection
from django.test import Client, override_settings
from django.urls import reverse
from pytest_django.live_server_helper import LiveServer

from shared import clock, triggers
from tests.browser import sheet_yard, small_fleet

PHONE = {"width": 390, "height": 844}
THUMB = {"viewport": PHONE, "has_touch": True, "is_mobile": True, "reduced_motion": "reduce"}
PATIENCE_MS = 15_000


@pytest.fixture
def phone(chromium, live_server):
    """A page at phone size on the live server; ``complaints`` are what its console said."""
    context = chromium.new_context(viewport=PHONE, base_url=live_server.url)
    yield listened(context.new_page())
    context.close()


def listened(page):
    """Return the page, its ``complaints`` kept from now on."""
    page.complaints = []
    page.on("console", lambda said: _note(page, said))
    page.on("pageerror", lambda error: page.complaints.append(str(error)))
    return page


def _note(page, said):
    if said.type in ("error", "warning"):
        page.complaints.append(said.text)


@pytest.fixture(scope="module")
def fleet(django_db_setup, django_db_blocker, tmp_path_factory):
    """The small fleet, kept for the tests of one file: walking it changes little."""
    folder, seal = tmp_path_factory.mktemp("media"), tmp_path_factory.mktemp("seal")
    apart = override_settings(
        MEDIA_ROOT=folder, KEYS=seal / "keys", CHECKPOINTS=seal / "checkpoints"
    )
    with django_db_blocker.unblock(), pytest.MonkeyPatch.context() as patch, apart:
        patch.setattr(clock, "now", lambda: small_fleet.NOW)
        try:
            made = small_fleet.found()
            made.media = folder
            yield made
        finally:
            triggers.lift(connection)
            call_command("flush", verbosity=0, interactive=False)


@pytest.fixture(scope="module")
def served(fleet):
    """The address of a server over the small fleet; pytest's own would empty it each time."""
    server = LiveServer("localhost")
    yield server.url
    server.stop()


@pytest.fixture
def signed_in(chromium, served, fleet, settings):
    """Return a way to open a browser as a role, past the form, or as nobody."""
    settings.MEDIA_ROOT = fleet.media
    with ExitStack() as stack:

        def open_as(role, viewport=PHONE, **more):
            context = chromium.new_context(viewport=viewport, base_url=served, **more)
            stack.callback(context.close)
            if role is not None:
                session = {"name": "sessionid", "value": fleet.cookies[role], "url": served}
                context.add_cookies([session])
            return listened(context.new_page())

        yield open_as


@pytest.fixture
def yard(monkeypatch):
    """A cart that is asked for camber and toe alone."""
    monkeypatch.setattr(clock, "now", lambda: sheet_yard.NOW)
    return sheet_yard.SheetYard()


@pytest.fixture
def thumb(chromium, live_server, yard):
    """A thumb at the round's page of that cart."""
    with ExitStack() as stack:
        page = yard_page(stack, chromium, live_server, yard, **THUMB)
        yield sheet_yard.Thumb(page)


def yard_page(stack, chromium, live_server, yard, **more):
    """Open the round's page of the yard's cart as its mechanic."""
    client = Client()
    client.force_login(yard.mechanic)
    context = chromium.new_context(base_url=live_server.url, **more)
    stack.callback(context.close)
    session = {"name": "sessionid", "value": client.cookies["sessionid"].value}
    context.add_cookies([{**session, "url": live_server.url}])
    page = listened(context.new_page())
    page.set_default_timeout(PATIENCE_MS)
    page.goto(reverse("round-create", args=[yard.site.slug, yard.cart.pk]))
    page.get_by_label("I have seen these").check()
    return page
