"""The report: cover, figures, exceptions in full, questions, rules, people, how to check."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import chain

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.bundle.paper import report_layouts as layouts
from fleet.bundle.paper.blocks import Heading, Section, Words
from fleet.bundle.paper.closing import cautions, how_to_check, not_printed
from fleet.bundle.paper.cover import cover
from fleet.bundle.paper.exceptions_layouts import EXCEPTIONS
from fleet.bundle.paper.figures import figures
from fleet.bundle.paper.frame import Frame
from fleet.bundle.paper.parts import parts
from fleet.bundle.paper.questions import questions
from fleet.bundle.paper.reading import in_batches, rows_of

REPORT = "report.pdf"
PIECE = 200


@dataclass
class _Run:
    """A run of blocks: its ``first`` part stands in the report, the others in prints after it."""

    frame: Frame
    title: str
    name: str
    told: Iterator

    def __post_init__(self):
        self.first, self.second = next(self.told), next(self.told, None)
        if self.second:
            name = self.name.format(2)
            self.first.append(
                Words(_("%(title)s: more in %(name)s.") % {**vars(self), "name": name})
            )

    def press_others(self):
        """Yield the name of each print after the report, once it is set."""
        for place, part in enumerate(chain(filter(None, [self.second]), self.told), start=2):
            section = Section(self.frame.turned, part)
            yield self.frame.press(self.name.format(place), self.title, [section])


def write_report(frame, most_lines):
    """Yield the names of the report and of what it goes on in, as each is set."""
    runs = [
        _Run(frame, title, name, parts(blocks, most_lines // 2, _again))
        for title, name, blocks in (
            (_("exceptions"), "exceptions-{}.pdf", _exceptions(frame)),
            (_("questions, rules, people, lifts"), "report-{}.pdf", _others(frame)),
        )
    ]
    sections = [
        *cover(frame),
        Section(frame.turned, list(figures(frame))),
        *(Section(frame.turned, run.first) for run in runs),
        Section(frame.upright, [*how_to_check(), *not_printed(), *cautions()]),
    ]
    yield frame.press(REPORT, _("audit report"), sections)
    for run in runs:
        yield from run.press_others()


def _others(frame):
    yield from questions(frame)
    yield from _rules(frame)
    for layout in (layouts.RULE_CHANGES, *layouts.OF_SITE, *layouts.OF_LIFTS):
        yield from _whole(frame, layout)


def _again(heading):
    return Heading(_("%s, continued") % heading.text, heading.level)


def _whole(frame, layout):
    """Yield a table as a chapter of its own."""
    path = frame.tables / layout.file
    is_empty = next(rows_of(path), None) is None
    yield Heading(str(layout.title))
    yield Words(str(layout.about), keeps=not is_empty)
    if is_empty:
        yield Words(_("None recorded."))
    for rows in in_batches(rows_of(path), PIECE):
        yield layout.grid(rows, frame.zone)


def _exceptions(frame):
    yield Heading(_("Exceptions"))
    yield Words(
        _("All of them as of the two moments on the cover. What is not listed was not recorded.")
    )
    for layout in EXCEPTIONS:
        path = frame.tables / layout.file
        count = sum(1 for _row in rows_of(path))
        yield Heading(f"{layout.title}: {count}", 2)
        yield Words(f"{layout.about} {_counted(count)}", keeps=bool(count))
        for rows in in_batches(rows_of(path), PIECE):
            yield layout.grid(rows, frame.zone)


def _counted(count):
    if not count:
        return _("None recorded.")
    return ngettext("%s is listed.", "%s are listed.", count) % count


def _rules(frame):
    """Yield the version of the rule book that was in force as of the cut."""
    happened_by, in_force = frame.scope.cut.happened_by, []
    for row in rows_of(frame.tables / layouts.RULES.file):
        if datetime.fromisoformat(row["in_force_from"]) <= happened_by:
            same = in_force and in_force[-1]["version"] == row["version"]
            in_force = [*in_force, row] if same else [row]
    yield Heading(str(layouts.RULES.title))
    yield Words(str(layouts.RULES.about), keeps=True)
    yield layouts.RULES.grid(in_force, frame.zone) if in_force else Words(_("None recorded."))
