"""Secrets of a sealed backup put back; what was there is set aside, not lost."""

import os
from datetime import datetime
from pathlib import Path

from deploy.keeping import parcel
from deploy.keeping.opening import Opened
from deploy.keeping.places import Place
from deploy.keeping.putting import aside_of
from shared import checkpoint, durable, keys


def put(found: Opened, place: Place, *, are_in_use: bool, at: datetime) -> list[str]:
    """Put back keys and secret, and return what is to be told of them.

    Every command makes a secret and the start makes a key, so those of the backup take the place
    of what is there. ``are_in_use``: by another database, so that they stay.
    """
    told, signed_by = [], _signed_by(place.checkpoints)
    for path in sorted((found.folder / parcel.SECRETS).glob("*")):
        target = place.secret_file(path.name)
        if not target.exists():
            target.parent.mkdir(mode=keys.FOLDER_MODE, parents=True, exist_ok=True)
            durable.make(target, path.read_bytes())
        elif target.read_bytes() != path.read_bytes():
            stays = are_in_use or keys.public_in(target) in signed_by
            told.append(_left(target) if stays else _replaced(target, path.read_bytes(), at))
    return told


def _signed_by(folder: Path) -> set[str]:
    """Return the public keys that signed what is kept outside: the journal will ask for them."""
    found = set()
    for path in folder.glob("*.txt"):
        if ".epoch-" in path.name:
            continue
        try:
            found.add(checkpoint.read(path.read_text("ascii")).key.hex())
        except ValueError:
            # a spoilt one is told of at the start
            continue
    return found


def _left(target):
    return f"{target} is another than in the backup, is in use, and stays as it is."


def _replaced(target, content, at):
    aside = aside_of(target, at)
    aside.unlink(missing_ok=True)
    # never a moment without one: the next start would make it
    os.link(target, aside)
    durable.replace(target, content)
    return f"What was in {target} is kept in {aside}."
