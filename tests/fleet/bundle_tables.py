"""The bundle's tables read back, without the ZIP around them."""

import csv
import tempfile
from dataclasses import dataclass
from pathlib import Path

from fleet.bundle.archive import write_tables
from fleet.bundle.scope import Scope
from fleet.kinds import Cut
from fleet.past_sites import site_at


@dataclass(frozen=True)
class Tables:
    """``files`` are the bytes of each file by its name."""

    files: dict

    def rows(self, name):
        text = self.files[f"{name}.csv"].decode("utf-8-sig")
        return list(csv.DictReader(text.split("\r\n")[:-1]))

    def row(self, name, **wanted):
        (found,) = [one for one in self.rows(name) if wanted.items() <= one.items()]
        return found


def tables_of(site, happened_by, known_by=None, **asked) -> Tables:
    """Return the tables of a site as of two moments, the second the first unless given."""
    cut = Cut(happened_by, known_by or happened_by)
    scope = Scope(site_at(site, cut), cut, **asked)
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "tables"
        write_tables(scope, folder, progress=lambda percent: None)
        files = sorted(folder.glob("*.csv"))
        return Tables({path.name: path.read_bytes() for path in files})
