"""Write database and files into one file, and read it back."""

import os
from pathlib import Path

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError

from deploy.keeping import key, places, taking
from deploy.keeping.refused import NotBegun, Refused
from shared import clock
from shared.actions import note_done
from shared.disk import FULL, is_full
from shared.models import LastDone


class Command(BaseCommand):
    help = "Write database, photos and papers into one file, read it back, and say so."

    def add_arguments(self, parser):
        parser.add_argument("--to", metavar="FOLDER", help="instead of FLEET_BACKUPS")
        parser.add_argument("--key", metavar="FILE", help="seal it; instead of FLEET_BACKUP_KEY")
        parser.add_argument("--keep", type=int, metavar="N", help="delete all but the N newest")
        parser.add_argument("--make-key", metavar="FILE", help="write a new key, and no more")

    def handle(self, *args, to, make_key, keep, **options):
        if keep is not None and keep < 1:
            raise CommandError("--keep must be at least 1.")
        try:
            if make_key:
                self.make_key(Path(make_key))
            else:
                self.back_up(to, options["key"], keep)
        except Refused as error:
            raise CommandError(str(error)) from error

    def make_key(self, path):
        key.make(path)
        self.stdout.write(
            f"{path} holds a new key. Keep a copy of it apart from this machine: "
            "without it no backup sealed with it can be opened."
        )

    def back_up(self, to, key_file, keep):
        at = clock.now()
        try:
            folder, with_key = given_folder(to), given_key(key_file)
            taken = taking.take(places.here(), folder, with_key, at=at)
        except NotBegun:
            raise
        except (Refused, OSError, DatabaseError) as error:
            note_done(LastDone.What.BACKUP_FAILED, at=at, fault=said_of(error))
            raise CommandError(f"No backup was taken. {said_of(error)}") from error
        note_done(LastDone.What.BACKUP, at=at, **what_of(taken))
        self.tell(taken)
        for gone in taking.keep_newest(folder, keep) if keep else []:
            self.stdout.write(f"deleted {gone.name}")

    def tell(self, taken):
        read = taken.read
        told = "sealed" if read.is_sealed else "not sealed, so without keys and secret"
        self.stdout.write(f"{taken.file}: {read.bytes:,} bytes, read back whole; {told}")
        for name in read.manifest.lost:
            self.stdout.write(f"not on the disk, so not in it: {name}")


def given_folder(name) -> Path:
    """Return the folder that was given or is set. Raises NotBegun for one that cannot be it."""
    if not name:
        return Path(settings.BACKUPS)
    folder = Path(name)
    try:
        folder.mkdir(mode=taking.FOLDER_MODE, parents=True, exist_ok=True)
    except OSError as error:
        raise NotBegun(f"{name} can be no folder ({error.strerror}): give another.") from error
    if not os.access(folder, os.W_OK | os.X_OK):
        raise NotBegun(f"Nothing can be written into {name}: give another folder.")
    return folder


def given_key(name) -> bytes | None:
    """Return the key in the file that was given or is set. Raises Refused, NotBegun if given."""
    path = name or settings.BACKUP_KEY
    try:
        return key.read(Path(path)) if path else None
    except Refused as error:
        if name:
            raise NotBegun(str(error)) from error
        raise


def said_of(error) -> str:
    """Say in one line what went wrong."""
    if is_full(error):
        return f"{FULL}: make room, and try again."
    return " ".join(f"{error}".split()) or type(error).__name__


def what_of(taken) -> dict:
    return {
        "file": str(taken.file),
        "bytes": taken.read.bytes,
        "sha256": taken.read.sha256,
        "encrypted": taken.read.is_sealed,
        "lost": len(taken.read.manifest.lost),
    }
