"""What the import commands share: a file, a site, who brings it in, and what is printed."""

from argparse import ArgumentTypeError
from datetime import date
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from fleet.actions.imports import NotBroughtIn, bring_in, preview
from fleet.importing.plans import Bringing
from fleet.importing.reports import Report
from fleet.kinds import register
from fleet.sheets import SheetError
from fleet.start_day import too_far
from shared import clock
from shared.models import Membership, Person, Role, Site


def _day(text):
    try:
        return date.fromisoformat(text)
    except ValueError:
        said = _("must be a day like 2026-03-31, not %s") % text
        raise ArgumentTypeError(said) from None


class ImportCommand(BaseCommand):
    """Brings in one kind of sheet; ``sheet`` is the importer's code."""

    sheet = ""

    def add_arguments(self, parser):
        parser.add_argument("file", help="a CSV or XLSX file")
        parser.add_argument("--site", required=True, metavar="SLUG")
        parser.add_argument("--dry-run", action="store_true", help="say what would change")
        parser.add_argument("--by", metavar="EMAIL", help="who brings it in: a manager")
        parser.add_argument(
            "--accept-questioned",
            action="store_true",
            help="take what is hardly likely as it stands",
        )
        if register.importers[self.sheet].takes_start_day:
            parser.add_argument("--start-day", metavar="YYYY-MM-DD", type=_day)

    def handle(self, *args, file, site, dry_run, by, accept_questioned, **options):
        at = clock.now()
        place = _site(site)
        self._refuse_far(place, options.get("start_day"), at)
        bringing = Bringing(
            place,
            _person(place, by, at),
            at,
            start_day=options.get("start_day"),
            accept_questioned=accept_questioned,
        )
        act = preview if dry_run else bring_in
        report = self._report(act, Path(file), bringing)
        self._print(report)
        self._close(report, dry_run, accept_questioned)

    def _refuse_far(self, site, start_day, at):
        takes = register.importers[self.sheet].takes_start_day
        far = takes and too_far(start_day or site.start_day, site, site.day(at))
        if far:
            raise CommandError(far)

    def _report(self, act, path, bringing):
        importer = register.importers[self.sheet]
        try:
            content = path if path.is_file() else path.read_bytes()
            return Report(act(importer, content, path.name, bringing), _)
        except OSError as error:
            raise CommandError(f"{path}: {error.strerror}") from error
        except SheetError as error:
            raise CommandError(error.words.said(_)) from error
        except NotBroughtIn as stopped:
            self._print(Report(stopped.report, _))
            raise CommandError(_("Nothing was brought in: mend what is named above.")) from stopped

    def _print(self, report):
        for line in (*report.found, *report.remarks):
            self.stdout.write(line)
        for row in report.told:
            said = {"line": row["line"], "cart": row["cart"], "what": "; ".join(row["what"])}
            self.stdout.write(_("Line %(line)d, cart %(cart)s: %(what)s") % said)
        for name in ("faults", "questions"):
            for sentence in report.sentences(name):
                self.stdout.write(sentence)
        for name in ("told", "faults", "questions"):
            if report.more(name):
                self.stdout.write(_("… and %d more") % report.more(name))
        counts = _("%(new)d new, %(changed)d changed, %(unchanged)d unchanged; %(faults)d wrong,")
        counts += " " + _("%(questions)d in question")
        self.stdout.write(counts % report.counts)

    def _close(self, report, dry_run, accept_questioned):
        asked = report.counts["questions"] and not accept_questioned
        if dry_run and (report.counts["faults"] or asked):
            raise CommandError(_("It would not be brought in: mend what is named above."))
        if report.changes_nothing:
            self.stdout.write(_("This file changes nothing."))
        elif dry_run:
            self.stdout.write(_("Nothing was written: this was a trial."))
        else:
            self.stdout.write(_("Brought in."))


def _site(slug):
    site = Site.objects.filter(slug=slug).first()
    if site is None:
        raise CommandError(_("There is no site %s.") % slug)
    return site


def _person(site, email, at):
    """Return who brings it in: the manager named, else the site's first."""
    managers = Membership.objects.in_force(site.day(at)).filter(site=site, role=Role.MANAGER)
    if email:
        managers = managers.filter(person__email__iexact=email)
    person = Person.objects.filter(pk__in=managers.values("person"), is_active=True)
    found = person.order_by("name", "id").first()
    if found is None:
        raise CommandError(_("%s is no manager of that site today.") % (email or _("Nobody")))
    return found
