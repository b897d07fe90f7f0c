"""What a sheet may look like: its columns in words, and a sheet to fill in."""

import csv
import io
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext_lazy as _

from fleet.kinds import Importer
from fleet.sheets import ColumnSpec
from shared.dates import shown_day

EXAMPLE_DAY = date(2026, 3, 2)
DATED = ("date", "day_or_moment")
KINDS = {
    "text": _("text"),
    "number": _("a whole number"),
    "date": _("a day"),
    "day_or_moment": _("a day, or a day and time"),
    "length": _("a length, also in fractions or with another unit"),
    "distance": _("a distance, also with another unit"),
    "hours": _("hours"),
    "yes_no": _("yes or no"),
    "choice": _("one of these words"),
}


@dataclass(frozen=True)
class GuideLine:
    """One column: its heading, others that are known, what it takes, an example."""

    heading: str
    also: str
    takes: str
    words: str
    example: str
    required: bool


@dataclass(frozen=True)
class Guide:
    code: str
    title: str
    lines: tuple[GuideLine, ...]


def guide_to(importer: Importer, site) -> Guide:
    """Return what a kind of sheet may look like at a site."""
    lines = (_line(spec, site.date_order) for spec in importer.columns(site))
    return Guide(importer.code, importer.title, tuple(lines))


def _line(spec: ColumnSpec, order: str) -> GuideLine:
    return GuideLine(
        spec.heading,
        ", ".join(spec.synonyms),
        KINDS[spec.kind],
        ", ".join(words[0] for words in spec.choices.values()),
        example_of(spec, order),
        spec.required,
    )


def example_of(spec: ColumnSpec, order: str) -> str:
    if spec.kind in DATED:
        return shown_day(EXAMPLE_DAY, order)
    if spec.choices:
        return next(iter(spec.choices.values()))[0]
    return spec.example


def sample_text(importer: Importer, site) -> str:
    """Return a CSV of all headings and one row of examples."""
    columns = importer.columns(site)
    text = io.StringIO(newline="")
    rows = csv.writer(text)
    rows.writerow([spec.heading for spec in columns])
    rows.writerow([example_of(spec, site.date_order) for spec in columns])
    return text.getvalue()
