"""The report: cover, figures, exceptions in full, questions, rules, people, how to check."""

from itertools import chain

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.bundle.paper import report_layouts as layouts
from fleet.bundle.paper.blocks import Heading, Section, Words
from fleet.bundle.paper.closing import cautions, how_to_check, not_printed
from fleet.bundle.paper.cover import cover
from fleet.bundle.paper.exceptions_layouts import EXCEPTIONS
from fleet.bundle.paper.figures import figures
from fleet.bundle.paper.parts import parts
from fleet.bundle.paper.reading import in_batches, rows_of

REPORT, GOES_ON = "report.pdf", "exceptions-{}.pdf"
PIECE = 200


def write_report(frame, most_lines):
    """Yield the names of the report and of what its exceptions go on in, as each is set."""
    told = parts(_exceptions(frame), most_lines, _again)
    first, second = next(told), next(told, None)
    going_on = [Words(_("The exceptions go on in %s.") % GOES_ON.format(2))] if second else []
    yield frame.press(REPORT, _("audit report"), _report(frame, [*first, *going_on]))
    for place, part in enumerate(chain(filter(None, [second]), told), start=2):
        sections = [Section(frame.turned, part)]
        yield frame.press(GOES_ON.format(place), _("audit report, exceptions"), sections)


def _report(frame, exceptions):
    return [
        *cover(frame),
        Section(frame.turned, list(figures(frame))),
        Section(frame.turned, exceptions),
        Section(frame.turned, list(_rules(frame))),
        Section(frame.turned, [block for one in layouts.OF_SITE for block in _whole(frame, one)]),
        Section(frame.upright, [*how_to_check(), *not_printed(), *cautions()]),
    ]


def _again(heading):
    return Heading(_("%s, continued") % heading.text, heading.level)


def _whole(frame, layout):
    """Yield a table as a chapter of its own."""
    rows = list(rows_of(frame.tables / layout.file))
    yield Heading(str(layout.title))
    yield Words(str(layout.about), keeps=True)
    yield layout.grid(rows, frame.zone) if rows else Words(_("None recorded."))


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
    return ngettext("%s is recorded.", "%s are recorded.", count) % count


def _rules(frame):
    """Yield the rule book in force as of the cut, then what each version changed."""
    in_force = []
    for row in rows_of(frame.tables / layouts.RULES.file):
        same = in_force and in_force[-1]["version"] == row["version"]
        in_force = [*in_force, row] if same else [row]
    yield Heading(str(layouts.RULES.title))
    yield Words(str(layouts.RULES.about), keeps=True)
    if in_force:
        yield layouts.RULES.grid(in_force, frame.zone)
    yield from _whole(frame, layouts.RULE_CHANGES)
