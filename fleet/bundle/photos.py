"""The photos of a bundle: each copy whose bytes are what its fact says, and which are not."""

import hashlib
from pathlib import Path

from shared.models import Photo
from shared.photos import copy_path

LACKING, OTHER_BYTES = "lacking", "does not match"


def fault_of(sha256: str) -> str:
    """Return what is wrong with the copy of a photo, nothing if its bytes are as recorded."""
    try:
        with path_of(sha256).open("rb") as file:
            found = hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return LACKING
    return "" if found == sha256 else OTHER_BYTES


def path_of(sha256: str) -> Path:
    return copy_path(Photo(copy_sha256=sha256))


def sorted_out(shown: set, progress) -> tuple[list, str]:
    """Return the photos that go into the bundle, and those that cannot, one a line."""
    whole, faults = [], []
    for place, sha256 in enumerate(sorted(shown)):
        fault = fault_of(sha256)
        if fault:
            faults.append(f"{sha256} {fault}\n")
        else:
            whole.append(sha256)
        progress(100 * place // len(shown))
    return whole, "".join(faults)
