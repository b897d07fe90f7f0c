"""What a backup says of itself: when, of what database, how much, and every file with its sum."""

import json
from dataclasses import asdict, dataclass, field, fields

from deploy.keeping.refused import Refused

FORMAT = 1
# the longest that is read: so much, and so much more for each file that came before it
MOST_BYTES, FILE_BYTES = 64 * 1024 * 1024, 1024
UNREADABLE = "The list in the backup cannot be read: take another copy of it."


@dataclass(frozen=True)
class Journal:
    """How the journal of a site ends; the root as hex."""

    site: str
    slug: str
    epoch: int
    size: int
    root: str


@dataclass(frozen=True)
class Filed:
    """A file in the backup."""

    path: str
    bytes: int
    sha256: str


@dataclass(frozen=True)
class Manifest:
    """``lost``: files that rows name and that were not on the disk when it was taken."""

    at: str
    kind: str
    version: str
    migrations: list[tuple[str, str]]
    tables: dict[str, int]
    journals: list[Journal]
    files: list[Filed]
    lost: list[str] = field(default_factory=list)
    format: int = FORMAT

    def as_json(self) -> bytes:
        return json.dumps(asdict(self), indent=1, sort_keys=True).encode("ascii")


def read(text: bytes) -> Manifest:
    """Return what a manifest says. Raises Refused for one of a later release."""
    try:
        said = json.loads(text)
        if said["format"] > FORMAT:
            raise Refused("The backup was made by a later release: update the tool first.")
        said["migrations"] = [tuple(one) for one in said["migrations"]]
        said["journals"] = [Journal(**one) for one in said["journals"]]
        said["files"] = [Filed(**one) for one in said["files"]]
        return Manifest(**{one.name: said[one.name] for one in fields(Manifest)})
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise Refused(UNREADABLE) from error
