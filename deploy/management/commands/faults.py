"""Break things on purpose, in places of their own, and count what came of it."""

import json
import os
import signal
import sys

from django.core.management.base import BaseCommand, CommandError

from deploy.faults import running
from deploy.faults.apart import Apart, run_all
from deploy.faults.listed import all_faults
from shared import clock


class Command(BaseCommand):
    help = "Break servers and programs on purpose, apart from the tool's own; print the figures."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("--only", action="append", metavar="CODE", help="these faults alone")
        parser.add_argument(
            "--count", type=int, help="how often; without it each fault's own count"
        )
        parser.add_argument("--long", action="store_true", help="the counts the figures stand for")
        parser.add_argument("--seed", type=int, help="the same seed draws the same faults")
        parser.add_argument("--older", metavar="COMMIT", help="the older release that F24 runs")
        parser.add_argument(
            "--at-once", type=int, default=1, metavar="N", help="so many at a time; without it one"
        )
        parser.add_argument("--list", action="store_true", help="say which there are, and end")
        parser.add_argument("--inside", metavar="ORDER", help="used by the command itself")

    def handle(self, *args, only, seed, inside, **options):
        # ended in the middle, it takes its servers along
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        faults = all_faults()
        if inside:
            self.run_inside(faults, running.Order(**json.loads(inside)))
        elif options["list"]:
            for one in faults.values():
                self.stdout.write(f"{one.code:4} {one.name:14} {one.about}")
        else:
            seed = seed if seed is not None else clock.now().microsecond
            self.run_all(self.chosen(faults, only), seed, options)

    def chosen(self, faults, only):
        unknown = sorted(set(only or ()) - set(faults))
        if unknown:
            raise CommandError(f"there is no fault {unknown[0]}; there are {', '.join(faults)}")
        return [one for one in faults.values() if not only or one.code in only]

    def run_all(self, faults, seed, options):
        self.stdout.write(f"seed {seed}")
        how = {"seed": seed, "is_long": options["long"], "older": options["older"] or ""}
        with running.templates({database for one in faults for database in one.on}) as empty:
            runs = [
                Apart(one, empty[database], count=self.count_of(one, options), **how)
                for one in faults
                for database in one.on
            ]
            results = run_all(runs, options["at_once"], self.say)
        failed = results.count(False)
        not_tried = f", {count} not tried" if (count := results.count(None)) else ""
        self.stdout.write(f"{results.count(True)} passed, {failed} failed{not_tried}")
        if failed:
            raise CommandError("some things do not hold; the lines above say which")

    def count_of(self, fault, options):
        return options["count"] or (fault.long if options["long"] else fault.short)

    def say(self, text):
        self.stdout.write(text)
        self.stdout.flush()

    def run_inside(self, faults, order):
        """Run one fault; what its programs print goes to standard error, the log."""
        told = os.dup(sys.stdout.fileno())
        os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
        tally = running.run_inside(faults[order.code], order)
        os.write(told, f"{tally.line()} on={order.database}\n".encode())
        if tally.lacking:
            sys.exit(running.NOT_TRIED)
        if not tally.passed:
            sys.exit(1)
