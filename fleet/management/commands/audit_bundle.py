"""Write the audit bundle of a site to a file, as of two moments or as it stands."""

from datetime import date
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from fleet.actions import bundles
from fleet.bundle.scope import Scope
from fleet.management.commands._asking import add_two_times, cut_asked, site_named
from fleet.past_sites import site_at
from shared import clock


class Command(BaseCommand):
    help = "Write the audit bundle: what a site recorded, as of two moments, in a ZIP to check."

    def add_arguments(self, parser):
        parser.add_argument("--site", required=True, metavar="SLUG")
        add_two_times(parser)
        parser.add_argument(
            "--from",
            dest="from_day",
            metavar="DAY",
            help="what was done or came in from that day on",
        )
        parser.add_argument(
            "--lifted-only", action="store_true", help="only carts that have or had a lift"
        )
        parser.add_argument(
            "--with-names", action="store_true", help="people and owners with their names"
        )
        parser.add_argument("--out", required=True, metavar="FILE")

    def handle(self, *args, site, out, **options):
        at = clock.now()
        scope = _scope(site_named(site), options, at)
        made_by = _("the command audit_bundle")
        try:
            made = bundles.make(scope, Path(out), at=at, by=made_by, progress=self.silently)
        except bundles.CannotBeMade as error:
            raise CommandError(str(error)) from error
        except OSError as error:
            raise CommandError(f"{out}: {error.strerror}") from error
        self.stdout.write(f"{made.sha256}  {out}")
        self.stdout.write(_("fingerprint of its content: %s") % made.fingerprint)

    def silently(self, percent):
        """A script wants the result alone."""


def _scope(site, options, at):
    cut = cut_asked(site, options, at=at)
    from_day = _day(options["from_day"])
    if from_day and from_day > site.day(cut.happened_by):
        raise CommandError(_("--from is after --happened-by: nothing would be told."))
    return Scope(site_at(site, cut), cut, from_day, options["lifted_only"], options["with_names"])


def _day(text):
    try:
        return text and date.fromisoformat(text)
    except ValueError as error:
        said = _("--from must be a day like 2026-03-31, not %s")
        raise CommandError(said % text) from error
