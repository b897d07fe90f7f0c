"""Print the board of a site for scripts, as it stands or as of two moments."""

import csv
import json

from django.core.management.base import BaseCommand

from fleet.as_of import work_at
from fleet.board import STATE_WORDS, in_order, rows_of
from fleet.due import state_on
from fleet.management.commands._asking import TIMES, add_two_times, cut_asked, site_named
from fleet.models import Recheck
from fleet.past_sites import site_at
from fleet.why_now import what, why_now
from shared import clock
from shared.tables import guarded

COLUMNS = (
    "section",
    "state",
    "cart",
    "kind",
    "subject",
    "what",
    "why",
    "opens_on",
    "due_on",
    "late_on",
    "stops_on",
    "governs",
    "at_hours",
    "at_distance",
    "minutes",
    "area",
    "bay",
    "tagged",
    "recheck",
)
IN_TABLE = ("state", "cart", "what", "due_on", "why", "minutes", "bay")


class Command(BaseCommand):
    help = "Print what is due at a site, in the order of its board."

    def add_arguments(self, parser):
        parser.add_argument("--site", required=True, metavar="SLUG")
        add_two_times(parser)
        parser.add_argument("--state", action="append", choices=list(STATE_WORDS))
        parser.add_argument("--format", choices=["table", "csv", "json"], default="table")

    def handle(self, *args, site, state, **options):
        place, day, found = _asked(site_named(site), options, clock.now())
        rows = [_row(section, work, day, place) for section, work in found]
        rows = [row for row in rows if not state or row["state"] in state]
        WRITERS[options["format"]](rows, self.stdout)


def _asked(site, options, at):
    """Return the site, its day and [(section, Work)]: of today, or as of the two times."""
    if not any(options[name] for name in TIMES):
        today = site.day(at)
        return site, today, rows_of(in_order(Recheck.objects.all(), site, today))
    cut = cut_asked(site, options, at=at)
    then = site_at(site, cut)
    return then, then.day(cut.happened_by), work_at(site, cut)


def _row(section, work, day, site):
    return {
        "section": section,
        "state": state_on(work, day),
        "cart": work.number,
        "kind": work.kind_code,
        "subject": work.subject,
        "what": what(work),
        "why": why_now(work, day, site),
        **{name: _iso(getattr(work, name)) for name in ("opens_on", "due_on")},
        **{name: _iso(getattr(work, name)) for name in ("late_on", "stops_on")},
        "governs": work.governs,
        "at_hours": _figure(work.hours_at_due),
        "at_distance": _figure(work.distance_at_due),
        "minutes": work.minutes,
        "area": work.area,
        "bay": work.bay,
        "tagged": work.is_tagged,
        "recheck": str(work.id),
    }


def _iso(day):
    return "" if day is None else day.isoformat()


def _figure(value):
    return "" if value is None else f"{value:.1f}"


def write_json(rows, out):
    out.write(json.dumps(rows, ensure_ascii=False, indent=1))


def write_csv(rows, out):
    sheet = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    sheet.writeheader()
    sheet.writerows({name: guarded(value) for name, value in row.items()} for row in rows)


def write_table(rows, out):
    """Write columns as wide as their longest cell."""
    cells = [IN_TABLE, *([str(row[name]) for name in IN_TABLE] for row in rows)]
    widths = [max(len(line[place]) for line in cells) for place in range(len(IN_TABLE))]
    for line in cells:
        padded = (cell.ljust(width) for cell, width in zip(line, widths, strict=True))
        out.write("  ".join(padded).rstrip())


WRITERS = {"table": write_table, "csv": write_csv, "json": write_json}
