"""The questions of an adjuster, each with every table that answers it and where that stands."""

from django.utils.translation import gettext as _

from fleet.bundle.paper.blocks import Heading, Words
from fleet.bundle.paper.places import place_of
from fleet.bundle.paper.reading import rows_of
from fleet.bundle.paper.report_layouts import QUESTIONS

ONCE = ("number", "question", "answered", "missing")


def questions(frame):
    yield Heading(str(QUESTIONS.title))
    yield Words(str(QUESTIONS.about), keeps=True)
    rows = list(_rows(frame.tables / QUESTIONS.file))
    yield QUESTIONS.grid(rows, frame.zone) if rows else Words(_("None recorded."))


def _rows(path):
    """Yield a line for each table; what a question says of itself stands in its first."""
    before = ""
    for row in rows_of(path):
        said = dict.fromkeys(ONCE, "") if row["number"] == before else {}
        place = place_of(row["table"]) if row["table"] else row["printed"]
        yield {**row, **said, "printed": place}
        before = row["number"]
