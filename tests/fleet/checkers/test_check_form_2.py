"""Form 2 asks for every line of looks, lengths, lifts and errors, and for rows told once."""

import io
import json

import pytest

from fleet.checkers import check
from shared.keys import private_key
from tests.fleet.checkers.both_ways import by_page, by_python
from tests.fleet.checkers.building import Draft, zipped

pytestmark = pytest.mark.django_db
TABLES = sorted(check.NOT_IN_FORM_1)
LATER = "2027-01-01T00:00:00.000000+00:00"


def sealed_anew(files, **said):
    """Return the bundle as whoever holds the site's key can sign it: over what its files say."""
    manifest = json.loads(files["manifest.json"]) | said
    kept = {name: data for name, data in files.items() if not name.startswith("manifest.")}
    return zipped(Draft(kept, manifest, private_key()).sealed())


def without_last_row(files, table):
    lines = files[f"tables/{table}"].splitlines(keepends=True)
    assert len(lines) > 1
    files[f"tables/{table}"] = b"".join(lines[:-1])


def last_row_twice(files, table):
    files[f"tables/{table}"] += files[f"tables/{table}"].splitlines(keepends=True)[-1]


def _rewrite(files, table, change):
    name = f"tables/{table}-metadata.json"
    said = json.loads(files[name])
    change(said["tableSchema"])
    files[name] = json.dumps(said).encode()


def without_saying_lines(files, table):
    def strip(schema):
        for column in schema["columns"]:
            if ":line:" in column.get("propertyUrl", ""):
                del column["propertyUrl"]

    _rewrite(files, table, strip)


def without_a_key(files, table):
    _rewrite(files, table, lambda schema: schema.pop("primaryKey"))
    last_row_twice(files, table)


def with_a_wider_key(files, table):
    _rewrite(files, table, lambda schema: schema["primaryKey"].append("cart"))


def with_a_key_of_no_column(files, table):
    _rewrite(files, table, lambda schema: schema["primaryKey"].append("nowhere"))


def without_lines(files, table):
    """Take the lines away as bundles of before had them: unsaid, and one left out."""
    without_saying_lines(files, table)
    without_last_row(files, table)


NAMED = {
    without_last_row: "does not tell of 1 line of entry ",
    last_row_twice: ": its key is that of a row above it",
    without_saying_lines: "its metadata does not say what of the entries it repeats",
    without_a_key: "its metadata does not say that each entry or line has one row",
    with_a_key_of_no_column: "its primary key is not made of its columns",
    without_lines: "its metadata does not say what of the entries it repeats",
}
CASES = [
    *((way, TABLES) for way in NAMED),
    (last_row_twice, ["lift_chapters.csv", "wrench_certificates.csv", "kits.csv"]),
]


def report_of(data):
    report, _bundle = check.check(io.BytesIO(data))
    return report


def test_what_the_key_holder_takes_out_or_doubles_is_found(files_of_lifts):
    assert report_of(sealed_anew(files_of_lifts)).is_clean
    for way, tables in CASES:
        spoilt = dict(files_of_lifts)
        for table in tables:
            way(spoilt, table)
        report = report_of(sealed_anew(spoilt))

        assert report.failed == ["tables"], way
        named = [line for line in report.found["tables"][1] if NAMED[way] in line]
        assert [table for table in tables if any(table in line for line in named)] == tables, way


def test_key_that_lets_an_entry_stand_twice_is_refused(files_of_lifts):
    with_a_wider_key(files_of_lifts, "joint_looks.csv")

    assert report_of(sealed_anew(files_of_lifts)).failed == ["tables"]


def of_before(files):
    for table in TABLES:
        without_lines(files, table)
    last_row_twice(files, "kits.csv")


def test_bundle_of_before_passes_and_is_told_apart(files_of_lifts):
    of_before(files_of_lifts)
    report = report_of(sealed_anew(files_of_lifts, form=1))

    assert report.is_clean, list(report.lines())
    assert f"form 1 asks for no lines in {', '.join(TABLES)}, and no keys" in str(report.found)


def test_nobody_goes_back_to_form_1(files_of_lifts):
    for moment in ("known_by", "made_at"):
        report = report_of(sealed_anew(files_of_lifts, form=1, **{moment: LATER}))

        assert report.failed == ["files"], moment
        assert "form 1 ended before 2027" in str(report.found)


@pytest.mark.browser
def test_the_page_says_the_same(opened, files_of_lifts):
    for way, named in NAMED.items():
        spoilt = dict(files_of_lifts)
        for table in TABLES:
            way(spoilt, table)
        data = sealed_anew(spoilt)

        assert by_page(opened, data) == by_python(data)
        assert opened.inner_text("#checks").count(named) == len(TABLES), way
    assert by_page(opened, data := sealed_anew(files_of_lifts, form=1, made_at=LATER)) == by_python(
        data
    )
    of_before(files_of_lifts)
    data = sealed_anew(files_of_lifts, form=1)
    assert by_page(opened, data) == by_python(data)
    assert "form 1 asks for no lines in axle_lifts.csv, " in opened.inner_text("#checks")
