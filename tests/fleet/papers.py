"""Prints made from tables that a test writes itself, and read back."""

import csv
import re
from datetime import UTC, datetime
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from pypdf import PdfReader

from fleet.bundle.paper import write_papers
from fleet.bundle.scope import Scope
from fleet.bundle.tables import all_tables
from fleet.kinds import Cut
from shared import checkpoint
from shared.models import Site
from shared.tables import BYTE_ORDER_MARK, guarded

AT = datetime(2026, 3, 12, 13, tzinfo=UTC)
ROOT, FINGERPRINT = bytes(range(32)), "fe" * 32
SITE = Site(slug="harbour", name="Harbour Links", zone="America/New_York")


def id_of(number) -> str:
    return f"00000000-0000-4000-8000-{number:012}"


def tell(folder: Path, **tables) -> Path:
    """Write every table of the bundle into a folder: its rows where given, their cells too."""
    folder.mkdir(exist_ok=True)
    for table in all_tables():
        with (folder / table.name).open("w", encoding="utf-8", newline="") as file:
            file.write(BYTE_ORDER_MARK)
            writer = csv.writer(file, lineterminator="\r\n")
            writer.writerow(table.names)
            for row in tables.pop(table.name.removesuffix(".csv"), ()):
                writer.writerow([guarded(row.get(name, "")) for name in table.names])
    assert not tables, "no such table"
    return folder


def a_cart(number, **cells):
    return {"cart_id": id_of(number), "cart": f"{number}", "is_lifted": "no", **cells}


def signed(site, at=AT):
    key = Ed25519PrivateKey.from_private_bytes(bytes(32))
    return checkpoint.sign(key, site=site.pk, epoch=3, size=11051, root=ROOT, at=at)


class Prints:
    """The prints of a folder of tables: ``names`` in order, and the text of each by name."""

    def __init__(self, tables, to, *, scope=None, progress=lambda percent: None):
        to.mkdir(exist_ok=True)
        self.to, scope = to, scope or Scope(SITE, Cut(AT, AT))
        self.names = write_papers(
            scope,
            tables,
            to,
            checkpoint=signed(scope.site),
            fingerprint=FINGERPRINT,
            made_at=AT,
            made_by="a test",
            progress=progress,
        )

    def reader(self, name) -> PdfReader:
        return PdfReader(self.to / name)

    def pages(self, name) -> list[str]:
        return [as_one(page.extract_text()) for page in self.reader(name).pages]

    def cover(self) -> str:
        return as_one(self.reader("report.pdf").pages[0].extract_text())

    def text(self, name) -> str:
        return " ".join(self.pages(name))

    @property
    def all_text(self):
        return " ".join(self.text(name) for name in self.names)


def as_one(text) -> str:
    """Return the text without what a line's end or a word's break put into it."""
    return re.sub(r"\s+", " ", text.replace("\u200b", ""))


def printed(prints, name, cell) -> bool:
    """Whether a print says a cell, wherever its lines were broken."""
    return bare(cell) in bare(prints.text(name))


def bare(text) -> str:
    return re.sub(r"\s+", "", text.replace("\u200b", ""))
