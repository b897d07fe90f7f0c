"""Looks at joints, errors of certificates, lengths: no cell of a line is told otherwise."""

import csv
import io
import json
import re

import pytest

from fleet.checkers import check
from tests.fleet.checkers.building import KEY, Draft, zipped

pytestmark = pytest.mark.django_db
MARK = "\ufeff"
TOLD_OTHERWISE = {
    "joint_looks": {"found": "gone", "target_nm": "7", "wrench": ""},
    "wrench_points": {"set_nm": "7", "as_found": "0", "as_left": "0.5"},
    "axle_lifts": {"raised_mm": "7", "gained_typed": "7 lb"},
    "fitting_lengths": {"after_mm": "7", "before_typed": "7 in"},
}
CELLS = {(table, column) for table, cells in TOLD_OTHERWISE.items() for column in cells}


def sealed_anew(files):
    """Return the bundle sealed over what its files now say."""
    manifest = json.loads(files.pop("manifest.json"))
    del files["manifest.signature"]
    return zipped(Draft(files, manifest, KEY).sealed())


def last_row_told(files, name, told):
    header, *rows = csv.reader(io.StringIO(files[name].decode("utf-8-sig"), newline=""))
    last = dict(zip(header, rows[-1], strict=True))
    assert not told.items() & last.items()
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerows([header, *rows[:-1], (last | told).values()])
    files[name] = (MARK + text.getvalue()).encode()


def test_cells_of_lines_told_otherwise_are_found(files_of_lifts):
    for table, told in TOLD_OTHERWISE.items():
        last_row_told(files_of_lifts, f"tables/{table}.csv", told)

    report, _bundle = check.check(io.BytesIO(sealed_anew(files_of_lifts)))

    verdict, problems = report.found["tables"]
    named = r"tables/(\w+)\.csv row \d+: (\w+) is .*, its entry says "
    assert verdict == check.FAILED
    assert {re.match(named, problem).groups() for problem in problems} == CELLS
