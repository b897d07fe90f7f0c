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
# a page of the site that keeps nothing of what is typed, nor asks for an icon
BLANK = '<!doctype html><link rel="icon" href="data:,">'


class Screens:
    """Pages of one server, kept for one file: a new context costs half a second of a core."""

    def __init__(self, stack, chromium, url):
        self.stack, self.chromium, self.url = stack, chromium, url
        self.pages = {}

    def page(self, *, session=None, **screen):
        """Return a page of such a screen, with nothing left of the test before it."""
        kind = repr(sorted(screen.items()))
        if kind in self.pages:
            _forget(self.pages[kind], screen)
        else:
            self.pages[kind] = self._new(screen)
        page = self.pages[kind]
        if session is not None:
            page.context.add_cookies([{"name": "sessionid", "value": session, "url": self.url}])
        return page

    def _new(self, screen):
        context = self.chromium.new_context(base_url=self.url, **screen)
        self.stack.callback(context.close)
        page = listened(context.new_page())
        page.set_default_timeout(PATIENCE_MS)
        return page


def _forget(page, screen):
    # first, lest an answer to the old session takes the new one away
    page.context.clear_cookies()
    page.route("**/blank/", lambda route: route.fulfill(body=BLANK, content_type="text/html"))
    page.goto("/blank/")
    page.evaluate("localStorage.clear(); sessionStorage.clear()")
    # while there are routes nothing is taken from the browser's cache
    page.unroute_all()
    page.emulate_media(media="null")
    page.set_viewport_size(screen["viewport"])
    page.complaints.clear()


@pytest.fixture(scope="module")
def screens(chromium, live_server):
    """Pages on the live server, each as good as new for every test."""
    with ExitStack() as stack:
        yield Screens(stack, chromium, live_server.url)


@pytest.fixture
def phone(screens):
    """A page at phone size on the live server; ``complaints`` are what its console said."""
    return screens.page(viewport=PHONE, reduced_motion="reduce")


def session_of(person):
    """Sign a person in past the form, and return the cookie's value."""
    client = Client()
    client.force_login(person)
    return client.cookies["sessionid"].value


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


@pytest.fixture(scope="module")
def fleet_screens(chromium, served):
    """Pages on the server over the small fleet."""
    with ExitStack() as stack:
        yield Screens(stack, chromium, served)


@pytest.fixture
def signed_in(fleet_screens, fleet, settings):
    """Return a way to open a browser as a role, past the form, or as nobody."""
    settings.MEDIA_ROOT = fleet.media

    def open_as(role, viewport=PHONE, **more):
        return fleet_screens.page(session=fleet.cookies.get(role), viewport=viewport, **more)

    return open_as


@pytest.fixture
def yard(monkeypatch):
    """A cart that is asked for camber and toe alone."""
    monkeypatch.setattr(clock, "now", lambda: sheet_yard.NOW)
    return sheet_yard.SheetYard()


@pytest.fixture
def thumb(screens, yard):
    """A thumb at the round's page of that cart."""
    return sheet_yard.Thumb(yard_page(screens, yard, **THUMB))


def yard_page(screens, yard, **screen):
    """Open the round's page of the yard's cart as its mechanic."""
    page = screens.page(session=session_of(yard.mechanic), **screen)
    page.goto(reverse("round-create", args=[yard.site.slug, yard.cart.pk]))
    page.get_by_label("I have seen these").check()
    return page
