"""Put a backup back, where nothing is or in place of what is there."""

from pathlib import Path
from uuid import UUID

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from deploy.keeping import opening, places, putting, secrets_back, taking
from deploy.keeping.refused import Damaged, Refused
from deploy.management.commands.backup import given_key, said_of
from shared import clock, outside
from shared.outside import OutsideSpoilt

NEXT = (
    "Start the tool. Where a site's journal is older than its newest checkpoint outside, every "
    "page says so and nothing is recorded until its restore is:"
)
WITHOUT_SECRETS = "Restored, but without its keys: restore once more with --replace."
NOT_UP_TO_DATE = "Restored, but not brought up to date: run manage.py migrate."


class Command(BaseCommand):
    help = "Put back what manage.py backup wrote; with the tool stopped."
    requires_system_checks = ()

    def add_arguments(self, parser):
        parser.add_argument("file", metavar="FILE")
        parser.add_argument("--key", metavar="FILE", help="instead of FLEET_BACKUP_KEY")
        parser.add_argument("--into", metavar="FOLDER|URL", help="elsewhere than the settings say")
        parser.add_argument(
            "--replace",
            action="store_true",
            help="in place of what is there, of which a backup is taken first",
        )

    def handle(self, *args, file, into, replace, **options):
        try:
            place = places.told(into) if into else places.here()
            key = given_key(options["key"])
            with opening.opened(Path(file), key, place) as found:
                putting.refuse_weak(place, found.manifest.version)
                are_in_use = are_secrets_in_use(place)
                if not putting.is_empty(place):
                    self.make_way(place, key, replace)
                putting.put(found, place)
                told = self.finish(found, place, are_in_use)
        except (Refused, OSError, DatabaseError) as error:
            raise CommandError(f"Nothing was restored. {said_of(error)}") from error
        self.tell(found.manifest, place, told)

    def finish(self, found, place, are_in_use):
        """Put the secrets back and migrate; it is restored by now, whatever fails."""
        try:
            told = secrets_back.put(found, place, are_in_use=are_in_use, at=clock.now())
        except OSError as error:
            raise CommandError(f"{WITHOUT_SECRETS} {said_of(error)}") from error
        try:
            putting.migrate(place)
        except (Refused, OSError) as error:
            for line in told:
                self.stdout.write(line)
            raise CommandError(f"{NOT_UP_TO_DATE} {said_of(error)}") from error
        return told

    def make_way(self, place, key, replace):
        """Take a backup of what is there, or set aside what cannot be read."""
        if not replace:
            raise Refused(
                f"Something is recorded in {place}: give another place with --into, or --replace."
            )
        at = clock.now()
        try:
            folder = Path(settings.BACKUPS)
            taken = taking.take(place, folder, key, at=at, begins=taking.BEFORE)
            self.stdout.write(f"What was there is kept in {taken.file}")
        except Damaged as error:
            aside = putting.set_aside(place, at)
            self.stdout.write(f"What was there cannot be read ({said_of(error)}): see {aside}")

    def tell(self, said, place, told):
        self.stdout.write(
            f"Restored to {place} as of {said.at}: {sum(said.tables.values()):,} rows, "
            f"{len(said.files):,} files."
        )
        for line in told:
            self.stdout.write(line)
        for name in said.lost:
            self.stdout.write(f"was not on the disk when the backup was taken: {name}")
        behind = [line for journal in said.journals for line in behind_of(journal)]
        for line in [NEXT, *behind] if behind and not place.environ else behind:
            self.stdout.write(line)


def are_secrets_in_use(place) -> bool:
    """Say whether keys and secret there belong to another database, in which something is."""
    if place.has_own_keys:
        return False
    try:
        return not putting.is_empty(places.here())
    except Refused:
        return True


def behind_of(journal):
    """Yield what a site's manager has to record."""
    try:
        signed = outside.newest(UUID(journal.site))
    except OutsideSpoilt as error:
        yield str(error)
        return
    if signed and (journal.epoch, journal.size) < (signed.epoch, signed.size):
        yield (
            f"{journal.slug} ends at entry {journal.size} of epoch {journal.epoch}, and entry "
            f"{signed.size} of epoch {signed.epoch} was signed: "
            f"manage.py record_restore --site {journal.slug} --by EMAIL --reason TEXT"
        )
