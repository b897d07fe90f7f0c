"""Record that an older database was put back, so that recording goes on in a new epoch."""

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from shared import clock
from shared.management.commands._managers import manager, site_called
from shared.models import Restore
from shared.sealing import SEAL_FAULTS, NothingMissing, record_restore


class Command(BaseCommand):
    help = "Record that an older database was put back; names the entries that are missing."

    def add_arguments(self, parser):
        parser.add_argument("--site", required=True, metavar="SLUG")
        parser.add_argument("--by", required=True, metavar="EMAIL", help="a manager of the site")
        parser.add_argument("--reason", required=True, metavar="TEXT", help="what happened")

    def handle(self, *args, site, by, reason, **options):
        at, place = clock.now(), site_called(site)
        if not reason.strip():
            raise CommandError(_("Say what happened: --reason is empty."))
        try:
            record_restore(place, reason=reason.strip(), by=manager(by, at, [place]), at=at)
        except NothingMissing as error:
            raise CommandError(_("Nothing is missing: no restore to record.")) from error
        except SEAL_FAULTS as error:
            raise CommandError(str(error)) from error
        told = Restore.objects.filter(site=place).latest("received_at")
        self.stdout.write(
            _("Recorded: entries %(first)d to %(last)d are missing; epoch %(epoch)d began.")
            % {"first": told.missing_from, "last": told.missing_to, "epoch": told.epoch}
        )
