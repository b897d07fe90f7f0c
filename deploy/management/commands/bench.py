"""Measure what the tool's own code costs, each line against a limit in the same run."""

import json
import logging
import sys
import time
import traceback
from dataclasses import asdict, replace
from math import isinf
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from deploy.bench import child, world
from deploy.bench.listed import all_groups
from deploy.bench.pairs import measured

HEADING = (
    f"{'line':26} {'scale':>9} {'ratio':>8} {'spread':>15} {'at most':>8} {'of':>5}"
    f" {'wall':>7} {'CPU':>7} {'limit':>12} {'ours':>12}"
)


class Command(BaseCommand):
    help = "Measure on a PostgreSQL of its own, which is gone afterwards; prints ratios."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument(
            "--scale",
            default="10k",
            metavar="SCALES",
            help=f"sizes of the fleet, of {','.join(world.SCALES)}; without it 10k",
        )
        parser.add_argument("--only", action="append", metavar="GROUP", help="these lines alone")
        parser.add_argument("--json", metavar="FILE", help="write the figures to a file too")
        parser.add_argument("--inside", nargs="+", help="used by the command itself")

    def handle(self, *args, scale, only, inside, **options):
        if inside is not None:
            self.stdout.write(str(child.call(*inside)))
            return
        self.begun_s = time.monotonic()
        self.failed = []
        # a page's line in the log would stand in the table
        logging.disable(logging.INFO)
        scales = self.known_scales(scale)
        groups = self.chosen(only)
        with world.made(scales, self.tell) as made:
            self.stdout.write(HEADING)
            found = [self.said(one) for group in groups for one in self.run_group(made, group)]
        if options["json"]:
            figures = [asdict(one) | {"is_met": one.is_met} for one in found]
            Path(options["json"]).write_text(json.dumps(figures, indent=1) + "\n")
        missed = [f"{one.name} at {one.scale}" for one in found if not one.is_met]
        ends = [("over the limit", missed), ("not measured", self.failed)]
        if said := [f"{word}: {', '.join(which)}" for word, which in ends if which]:
            raise CommandError("; ".join(said))

    def known_scales(self, said):
        scales = {one: many for one, many in world.SCALES.items() if one in said.split(",")}
        unknown = sorted(set(said.split(",")) - set(world.SCALES))
        if unknown:
            known = ", ".join(world.SCALES)
            raise CommandError(f"there is no scale {unknown[0]!r}; there are {known}")
        return scales

    def chosen(self, only):
        groups = all_groups()
        unknown = sorted(set(only or ()) - set(groups))
        if unknown:
            raise CommandError(f"there are no lines {unknown[0]}; there are {', '.join(groups)}")
        return [group for name, group in groups.items() if not only or name in only]

    def run_group(self, made, group):
        """Yield what each line of a group amounts to, at each scale or between two."""
        if group.is_growth:
            if len(made.scales) > 1:
                small, large = made.scales[0], made.scales[-1]
                yield from self.run_lines(group, (made, small, large), f"{small}-{large}")
            return
        for scale in made.scales:
            with made.at(scale):
                yield from self.run_lines(group, (made,), scale)

    def run_lines(self, group, given, scale):
        """Yield what a group's lines amount to; one that breaks costs its group alone."""
        try:
            for one in group.make(*given):
                self.tell(f"{one.name} at {scale}")
                yield replace(measured(one), scale=scale)
        except Exception:
            self.failed.append(f"{group.name} at {scale}")
            self.stderr.write(f"{group.name} at {scale} broke:\n{traceback.format_exc()}")

    def said(self, one):
        at_most = "" if isinf(one.at_most) else f"{one.at_most:.2f}"
        words = [f"{one.name:26} {one.scale:>9} {one.ratio:8.2f}"]
        if one.ours_ms:
            words += [f"{f'{one.least:.2f}..{one.most:.2f}':>15} {at_most:>8} {one.by:>5}"]
            words += [f"{one.wall_ratio:7.2f} {one.cpu_ratio:7.2f}"]
            words += [f"{one.limit_ms:9.1f} ms {one.ours_ms:9.1f} ms  "]
        else:
            words += [f"{'':15} {at_most:>8} {one.by:>5}{'':43}"]
        self.stdout.write(" ".join([*words, one.about, "" if one.is_met else " OVER"]).rstrip())
        self.stdout.flush()
        return one

    def tell(self, text):
        """Say how far it is, where a person looks on."""
        if sys.stderr.isatty():
            self.stderr.write(f"{time.monotonic() - self.begun_s:7.1f} s  {text}")
