import shutil

import pytest

from tests.fleet.bundling import Fleet, bundled, on
from tests.fleet.checkers.both_ways import PAGE
from tests.fleet.lift_story import tell_of_lifts
from tests.lifts.test_bundle_fittings import whole


@pytest.fixture(scope="module")
def opened(chromium, tmp_path_factory):
    """The page, opened from a file; what it asks of any network fails the test."""
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    asked = []
    context.on("request", lambda request: asked.append(request.url))
    page = context.new_page()
    page.on("pageerror", lambda error: asked.append(str(error)))
    copy = tmp_path_factory.mktemp("page") / "check.html"
    shutil.copy(PAGE, copy)
    page.goto(copy.as_uri())
    context.set_offline(True)
    yield page
    context.close()
    assert asked == [copy.as_uri()]


@pytest.fixture
def files_of_lifts(tmp_path):
    """The files of a bundle that tells of looks, lengths, axles raised and wrench errors."""
    fleet = Fleet("harbour")
    cart, _fitting = whole(fleet)
    tell_of_lifts(fleet, cart)
    return dict(bundled(fleet.site, tmp_path, on(3, 20)).members)
