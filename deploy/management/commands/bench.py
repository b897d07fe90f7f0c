"""Measure what the tool's own code costs, each line against a limit in the same run."""

import json
from dataclasses import asdict
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from deploy.bench import seal
from deploy.bench.pairs import measured
from deploy.bench.scratch import demo_fleet
from shared import clock

HEADING = (
    f"{'line':14} {'ratio':>6} {'spread':>13} {'CPU':>5} {'at most':>8} {'limit':>9} {'ours':>9}"
)


class Command(BaseCommand):
    help = "Measure in a database of its own, which is dropped afterwards; prints ratios."

    def add_arguments(self, parser):
        parser.add_argument("--only", action="append", metavar="LINE", help="these lines alone")
        parser.add_argument("--json", metavar="FILE", help="write the figures to a file too")

    def handle(self, *args, only, **options):
        at = clock.now()
        self.stderr.write("Loading the demo fleet into a database of its own ...")
        with demo_fleet(at):
            chosen = self.chosen(seal.pairs(at), only)
            self.stdout.write(HEADING)
            found = [self.said(measured(pair)) for pair in chosen]
        if options["json"]:
            figures = [asdict(one) for one in found]
            Path(options["json"]).write_text(json.dumps(figures, indent=1) + "\n")
        missed = [one.name for one in found if not one.is_met]
        if missed:
            raise CommandError(f"over the limit: {', '.join(missed)}")

    def chosen(self, pairs, only):
        names = [pair.name for pair in pairs]
        unknown = sorted(set(only or ()) - set(names))
        if unknown:
            raise CommandError(f"there is no line {unknown[0]}; there are {', '.join(names)}")
        return [pair for pair in pairs if not only or pair.name in only]

    def said(self, one):
        spread = f"{one.least:.2f}..{one.most:.2f}"
        self.stdout.write(
            f"{one.name:14} {one.ratio:6.2f} {spread:>13} {one.cpu_ratio:5.2f} {one.at_most:8.2f} "
            f"{one.limit_ms:6.0f} ms {one.ours_ms:6.0f} ms   {one.about}"
        )
        return one
