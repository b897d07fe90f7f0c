import shutil

import pytest

from tests.fleet.checkers.both_ways import PAGE


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
