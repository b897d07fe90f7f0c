"""Delete files of the media that no row names and none will."""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from deploy.keeping import leftovers
from deploy.keeping.refused import Refused
from shared import clock


class Command(BaseCommand):
    help = "Delete photos and papers that nothing recorded names, when they are a day old."

    def add_arguments(self, parser):
        parser.add_argument("--dry-run", action="store_true", help="name them, and no more")

    def handle(self, *args, dry_run, **options):
        at, media = clock.now(), Path(settings.MEDIA_ROOT)
        try:
            found = leftovers.found(connection, media, at=at)
        except Refused as error:
            raise CommandError(f"Nothing was deleted. {error}") from error
        if dry_run:
            for path in found:
                self.stdout.write(str(path.relative_to(media)))
            return
        sizes = [leftovers.delete(path, at=at) for path in found]
        self.stdout.write(f"{len(found)} files, {sum(sizes):,} bytes deleted.")
