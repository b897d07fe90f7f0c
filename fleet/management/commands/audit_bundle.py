"""Write the audit bundle of a site to a file, as of two days or as it stands."""

from datetime import date
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from fleet.actions import bundles
from fleet.kinds import Cut
from shared import clock
from shared.models import Site


class Command(BaseCommand):
    help = "Write a ZIP of CSV tables: what a site recorded, as of the end of a day or as of now."

    def add_arguments(self, parser):
        parser.add_argument("--site", required=True, metavar="SLUG")
        parser.add_argument(
            "--happened-by", metavar="DATE", help="what had happened by the end of that day"
        )
        parser.add_argument(
            "--known-by", metavar="DATE", help="what had arrived by the end of that day"
        )
        parser.add_argument("--out", required=True, metavar="FILE")

    def handle(self, *args, site, out, **options):
        at = clock.now()
        place = Site.objects.filter(slug=site).first()
        if place is None:
            raise CommandError(_("There is no site %(slug)s.") % {"slug": site})
        moments = [
            _end_of(options[name], place, at, f"--{name.replace('_', '-')}")
            for name in ("happened_by", "known_by")
        ]
        made_by = _("the command audit_bundle")
        try:
            sha256 = bundles.make(
                place, Cut(*moments), Path(out), at=at, by=made_by, progress=self.silently
            )
        except OSError as error:
            raise CommandError(f"{out}: {error.strerror}") from error
        self.stdout.write(f"{sha256}  {out}")

    def silently(self, percent):
        """A script wants the result alone."""


def _end_of(text, site, at, option):
    """Return the end of the day that was written, never later than now; now without one."""
    if text is None:
        return at
    try:
        return min(at, clock.end_of(date.fromisoformat(text), site.zone))
    except ValueError as error:
        said = _("%(option)s must be a day like 2026-03-31, not %(text)s")
        raise CommandError(said % {"option": option, "text": text}) from error
