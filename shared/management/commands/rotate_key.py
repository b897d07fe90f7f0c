"""Change the key that signs checkpoints, at every site."""

from django.core.management.base import BaseCommand, CommandError
from django.utils.translation import gettext as _

from shared import clock
from shared.management.commands._managers import manager
from shared.models import Site
from shared.sealing import SEAL_FAULTS, rotate_key


class Command(BaseCommand):
    help = "Change the key that signs checkpoints: the old one signs the new one at every site."

    def add_arguments(self, parser):
        parser.add_argument("--by", required=True, metavar="EMAIL", help="a manager of a site")
        parser.add_argument(
            "--lost",
            action="store_true",
            help="the old key is lost: nobody can follow from it to the new one",
        )

    def handle(self, *args, by, lost, **options):
        at = clock.now()
        person = manager(by, at, Site.objects.all())
        try:
            public = rotate_key(by=person, at=at, lost=lost)
        except SEAL_FAULTS as error:
            raise CommandError(str(error)) from error
        self.stdout.write(_("The key is now %s. Tell it to the insurer.") % public)
