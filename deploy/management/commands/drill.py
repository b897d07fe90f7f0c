"""Prove that the newest backup can be put back: do it in a scratch place, and compare."""

from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from deploy.keeping import places, proving, taking
from deploy.keeping.refused import NotBegun, OtherKey, Refused
from deploy.management.commands.backup import given_key, said_of
from shared import clock
from shared.actions import note_done
from shared.models import LastDone

SAYS = (
    "{file}: put back and compared, as of {as_of}: {rows:,} rows, {files:,} files, {entries:,} "
    "entries, {signed:,} of them also with what is kept outside. Nothing differs."
)


class Command(BaseCommand):
    help = "Put the newest backup, or the one given, back in a scratch place, and compare."

    def add_arguments(self, parser):
        parser.add_argument("file", nargs="?", metavar="FILE")
        parser.add_argument("--key", metavar="FILE", help="instead of FLEET_BACKUP_KEY")
        parser.add_argument(
            "--server",
            metavar="URL",
            help="where on PostgreSQL a scratch database is made; without it FLEET_DATABASE",
        )

    def handle(self, *args, file, server, **options):
        at, name = clock.now(), file
        try:
            name = given_file(file) or newest()
            where = places.told(server) if server else places.here()
            proof = proving.prove(Path(name), given_key(options["key"]), where)
        except (Refused, OSError, DatabaseError) as error:
            said = {"file": str(name or ""), "fault": said_of(error)}
            if not is_of_words(error, options["key"]):
                note_done(LastDone.What.RESTORE_NOT_PROVED, at=at, **said)
            raise CommandError(f"Not proved. {said_of(error)}") from error
        note_done(LastDone.What.RESTORE_PROVED, at=at, file=str(name), **proof.said)
        self.stdout.write(SAYS.format(file=name, **proof.said))


def is_of_words(error, key_given) -> bool:
    """Say whether only what was typed, or left out, is wrong, and not the backup."""
    return isinstance(error, NotBegun) or bool(key_given and isinstance(error, OtherKey))


def given_file(name):
    if name and not Path(name).is_file():
        raise NotBegun(f"{name} is no file: name a backup, or none for the newest.")
    return name


def newest() -> str:
    found = taking.all_in(Path(settings.BACKUPS))
    if not found:
        raise Refused(f"There is no backup in {settings.BACKUPS}: take one with manage.py backup.")
    return str(found[0])
