"""Every kind that tables must tell of: an entry that its table leaves out is named."""

import io
import json

import pytest

from fleet.checkers import check
from tests.fleet.checkers.both_ways import by_page, by_python
from tests.fleet.checkers.building import (
    Story,
    column,
    csv_of,
    draft_of,
    meta_of,
    zipped,
)

OF_NO_CART = {kind for kind, (_table, fields) in check.TOLD_IN.items() if "cart" not in fields}


def told(kind, rows=True):
    """Return a bundle with an entry of a kind that has a table, with or without its row."""
    story = Story()
    table, fields = check.TOLD_IN[kind]
    about = {} if kind in OF_NO_CART else {"cart": story.carts[0][0]}
    story.reading() if kind == "fleet.reading" else story.add(kind, **about)
    draft = draft_of(story)
    names = ["id", *sorted(fields - {"id"})]
    columns = [column(name, name) for name in names]
    body = story.entries[-1].said
    row = ["" if body.get(name) is None else body[name] for name in names]
    put(draft, table, csv_of(columns, [row] if rows else []), meta_of(table, columns, "id"))
    return zipped(draft.sealed())


def put(draft, table, data, meta):
    """Put a table first among the others, or in place of its namesake."""
    name = f"tables/{table}"
    others = {key: value for key, value in draft.files.items() if not key.startswith(name)}
    head = {key: others.pop(key) for key in ("README.txt", "report/report.pdf")}
    draft.files = {**head, name: data, f"{name}-metadata.json": meta, **others}


def report_of(data):
    report, _bundle = check.check(io.BytesIO(data))
    return report


@pytest.mark.parametrize("kind", check.TOLD_IN)
def test_entry_that_its_table_leaves_out_is_named(kind):
    whole, spoilt = told(kind), told(kind, rows=False)

    assert report_of(whole).failed == [], report_of(whole).found["tables"]
    assert report_of(spoilt).failed == ["tables"]
    table, _fields = check.TOLD_IN[kind]
    assert report_of(spoilt).found["tables"][1] == [
        f"tables/{table} does not tell of entry 1, which stands"
    ]


@pytest.mark.browser
@pytest.mark.parametrize("kind", check.TOLD_IN)
@pytest.mark.parametrize("rows", [True, False])
def test_the_page_says_the_same(opened, kind, rows):
    data = told(kind, rows)

    assert by_page(opened, data) == by_python(data)


@pytest.mark.parametrize(("cell", "failed"), [("", []), ("sealed", ["tables"])])
def test_column_that_an_older_entry_lacks_must_be_empty(cell, failed):
    story = Story()
    story.add("lifts.fitting", cart=story.carts[0][0], paperwork="full")
    draft = draft_of(story)
    body = story.entries[-1].said
    names = ("id", "cart", "done_at", "paperwork", "hub_bearing")
    columns = [column(name, name) for name in names]
    row = [*(body[name] for name in names[:-1]), cell]
    table = "lift_chapters.csv"
    put(draft, table, csv_of(columns, [row]), meta_of(table, columns, "id"))

    assert "hub_bearing" not in json.loads(story.entries[-1].body)
    assert report_of(zipped(draft.sealed())).failed == failed
