"""Reads the tables as they were just written, and words their cells for print."""

import csv
import json
import re
from datetime import datetime
from itertools import islice

from shared.dates import comes_twice
from shared.tables import RUNS_AS_FORMULA

# an entry that was taken back stands whole in one cell
LARGEST_CELL = 2**30
UUID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")
SHA256 = re.compile(r"[0-9a-f]{64}")
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d")
ID_DIGITS, SHA256_DIGITS = 8, 16


def rows_of(path):
    """Yield each row of a CSV file as a dict; none where there is no such file."""
    if path.exists():
        csv.field_size_limit(LARGEST_CELL)
        with path.open(encoding="utf-8-sig", newline="") as file:
            yield from csv.DictReader(file)


def in_batches(rows, size):
    rows = iter(rows)
    while batch := list(islice(rows, size)):
        yield batch


class ByCart:
    """A file of rows cart by cart, read along with the register, batch by batch of carts."""

    def __init__(self, path):
        self.rows = rows_of(path)
        self.ahead = next(self.rows, None)

    def of(self, cart_ids) -> dict[str, list]:
        """Return {cart id: rows} of the carts that come next."""
        found = {cart_id: [] for cart_id in cart_ids}
        while self.ahead and self.ahead["cart_id"] in found:
            found[self.ahead["cart_id"]].append(self.ahead)
            self.ahead = next(self.rows, None)
        return found


def worded(cell: str, zone: str) -> str:
    """Return a cell as it is printed: ids and fingerprints short, moments to the minute."""
    if UUID.fullmatch(cell):
        return cell[-ID_DIGITS:]
    if SHA256.fullmatch(cell):
        return cell[:SHA256_DIGITS]
    if MOMENT.fullmatch(cell):
        return _moment(datetime.fromisoformat(cell), zone)
    return unguarded(cell)


def spaced(body: str) -> str:
    """Return JSON with a space after each comma, so that lines break between its members."""
    return json.dumps(json.loads(body), ensure_ascii=False, separators=(", ", ":"))


def unguarded(cell: str) -> str:
    """Return the text without the mark that keeps a spreadsheet from running it."""
    runs = cell[1:].lstrip(" \u00a0").startswith(RUNS_AS_FORMULA)
    return cell[1:] if cell.startswith("'") and runs else cell


def _moment(at, zone):
    """Return the minute; with the offset in the hour that comes twice."""
    text = f"{at:%Y-%m-%d %H:%M}"
    return f"{text} {at.isoformat()[-6:]}" if comes_twice(at.replace(tzinfo=None), zone) else text
