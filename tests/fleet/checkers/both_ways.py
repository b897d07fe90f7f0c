"""A bundle checked by check.html in a browser, and by check.py."""

import io
from pathlib import Path

from fleet.checkers import check

PAGE = Path(check.__file__).with_name("check.html")
NOT_BEGUN = "nothing was checked"


def by_page(page, data, text="", key="", number=""):
    """Check a bundle in the page; return its verdicts, or that nothing was checked."""
    file = {"name": "bundle.zip", "mimeType": "application/zip", "buffer": data}
    page.set_input_files("#bundle", file)
    page.fill("#checkpoint", text)
    page.fill("#key", key)
    page.fill("#sample", number)
    page.click("#start")
    page.wait_for_selector("#start:not([disabled])")
    return verdicts_shown(page)


def verdicts_shown(page):
    if "Nothing was checked" in page.inner_text("#conclusion"):
        return NOT_BEGUN
    read = "rows => rows.map(row => [row.querySelector('h3').innerText, row.firstChild.innerText])"
    return [tuple(row) for row in page.eval_on_selector_all("#checks > li", read)]


def by_python(data, text="", key=""):
    try:
        given = check.given_checkpoints("kept", text) if text else []
        report, _bundle = check.check(io.BytesIO(data), given, key or None)
    except check.CannotBegin:
        return NOT_BEGUN
    return report.verdicts
