"""Backups made bad in every way that a restore must find, each with what it is to say."""

import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from deploy.keeping import parcel, sealed
from deploy.keeping.manifest import Manifest
from deploy.keeping.places import POSTGRESQL, SQLITE

UNKNOWN = ("shared", "9999_of_a_later_release")


@dataclass(frozen=True)
class Damage:
    """``make(sound, key, to)`` writes the bad file and returns the key to give with it."""

    name: str
    reason: str
    make: Callable[[Path, bytes | None, Path], bytes | None]
    is_sealed: bool = False


def _cut(sound, key, to):
    shutil.copyfile(sound, to)
    os.truncate(to, sound.stat().st_size * 2 // 3)
    return key


def _cut_between_pieces(sound, key, to):
    """Cut where a piece ends, as a copy that lost its last blocks may."""
    header, piece = sealed.HEADER_BYTES, sealed.PIECE_BYTES + sealed.TAG_BYTES
    shutil.copyfile(sound, to)
    os.truncate(to, header + (sound.stat().st_size - header) // piece * piece)
    return key


def _flipped(sound, key, to):
    content = bytearray(sound.read_bytes())
    content[len(content) // 2] ^= 1
    to.write_bytes(content)
    return key


def _wrong_key(sound, key, to):
    shutil.copyfile(sound, to)
    return bytes(len(key))


def _no_key(sound, key, to):
    shutil.copyfile(sound, to)


def _other_file(sound, key, to):
    to.write_bytes(b"SQLite format 3\0" + bytes(20_000))
    return key


def again(
    sound: Path, key: bytes | None, to: Path, *, say=lambda said: said, leave_out=None, more=None
):
    """Write a backup anew, whole and summed, with another list, a file less or one more.

    ``more``: the name of that file, which is listed as if it belonged there.
    """
    folder = to.with_suffix(".parts")
    said = parcel.read(sound, key, lambda name, size: folder / name).manifest
    names = [one.path for one in said.files if one.path not in (leave_out, parcel.FIRST)]
    at = datetime.fromisoformat(said.at)
    with to.open("wb") as file, parcel.writing(file, key, at=at) as out:
        for name in names:
            out.add_bytes(name, (folder / name).read_bytes())
        if more:
            out.add_bytes(more, b"planted")
            said = replace(said, files=out.filed)
        out.add_bytes(parcel.MANIFEST, say(said).as_json())
    shutil.rmtree(folder)


def _photo_missing(sound, key, to):
    said = parcel.read(sound, key, lambda name, size: None).manifest
    photo = next(one.path for one in said.files if one.path.startswith(parcel.MEDIA))
    again(sound, key, to, leave_out=photo)
    return key


def _leads_elsewhere(sound, key, to):
    again(sound, key, to, more=f"media/{to.parent}/planted")
    return key


def _other_list(change: Callable[[Manifest], Manifest]):
    def make(sound, key, to):
        again(sound, key, to, say=change)
        return key

    return make


def _one_row_more(said):
    return replace(said, tables=said.tables | {"shared_entry": said.tables["shared_entry"] + 1})


def _later(said):
    return replace(said, migrations=[*said.migrations, UNKNOWN])


def _other_kind(said):
    return replace(said, kind=POSTGRESQL if said.kind == SQLITE else SQLITE)


DAMAGES = [
    Damage("cut", "The file is cut short", _cut),
    Damage("cut, sealed", "The file is cut short", _cut, is_sealed=True),
    Damage("cut between pieces", "The file is cut short", _cut_between_pieces, is_sealed=True),
    Damage("flipped", "changed", _flipped),
    Damage("flipped, sealed", "changed", _flipped, is_sealed=True),
    Damage("wrong key", "sealed with another key", _wrong_key, is_sealed=True),
    Damage("no key", "give its key with --key", _no_key, is_sealed=True),
    Damage("other file", "This is no backup of the tool", _other_file),
    Damage("photo missing", "is missing in the backup, which lists it", _photo_missing),
    Damage("leads elsewhere", "This is no backup of the tool", _leads_elsewhere),
    Damage("counts", "Table shared_entry", _other_list(_one_row_more)),
    Damage("later release", "does not know shared 9999_of_a_later_release", _other_list(_later)),
    Damage("other database", "so that they are alike", _other_list(_other_kind)),
]
