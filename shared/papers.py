"""Papers taken in as they came, such as a maker's sheet: kept by SHA-256, handed out to keep.

They are neither opened nor changed here, so they are only ever served as downloads. Files
come before rows: one without a row is harmless and the same upload finds it again.
"""

import hashlib
from dataclasses import dataclass
from pathlib import Path, PurePath

from django.conf import settings
from django.http import FileResponse
from django.utils.translation import gettext_lazy as _

from shared import durable

LARGEST_BYTES = 12_000_000
LONGEST_NAME_CHARS = 120

TOO_LARGE = _("The file is larger than 12 MB.")
NOT_A_PAPER = _("This is not a PDF, JPEG, PNG or WebP file.")

# a file says itself what it is, whatever its name
BEGINS = {
    b"%PDF-": "application/pdf",
    b"\xff\xd8\xff": "image/jpeg",
    b"\x89PNG\r\n\x1a\n": "image/png",
}
WEBP_BEGINS, WEBP_GOES_ON = b"RIFF", b"WEBP"
FIRST_BYTES = 12


class PaperRefused(Exception):
    """The upload cannot be kept; ``why`` says it in words for its sender."""

    def __init__(self, why):
        super().__init__(why)
        self.why = why


@dataclass(frozen=True)
class Paper:
    """A kept file: the name it came under, and the SHA-256 it lies under."""

    name: str
    sha256: str


def take(upload, folder: str) -> Paper:
    """Keep an uploaded file in a folder of the media, whole or not at all.

    Raises PaperRefused for what is too large or no PDF, JPEG, PNG or WebP.
    """
    content = upload.read(LARGEST_BYTES + 1)
    if len(content) > LARGEST_BYTES:
        raise PaperRefused(TOO_LARGE)
    if type_of(content[:FIRST_BYTES]) is None:
        raise PaperRefused(NOT_A_PAPER)
    sha256 = hashlib.sha256(content).hexdigest()
    path = path_of(folder, sha256)
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        durable.replace(path, content)
    return Paper(short_name(upload.name), sha256)


def short_name(name: str) -> str:
    """Return the name of a file, without folders, its ending kept when it is too long."""
    plain = PurePath(name.replace("\\", "/")).name
    ending = PurePath(plain).suffix[:10]
    if len(plain) <= LONGEST_NAME_CHARS:
        return plain
    return plain[: LONGEST_NAME_CHARS - len(ending)] + ending


def type_of(first_bytes: bytes) -> str | None:
    """Return the type of a file by how it begins, None for what is not taken."""
    if first_bytes.startswith(WEBP_BEGINS) and first_bytes[8:12] == WEBP_GOES_ON:
        return "image/webp"
    types = (type_ for begins, type_ in BEGINS.items() if first_bytes.startswith(begins))
    return next(types, None)


def path_of(folder: str, sha256: str) -> Path:
    return Path(settings.MEDIA_ROOT) / folder / sha256[:2] / sha256


def handed_out(paper: Paper, folder: str) -> FileResponse:
    """Answer with the file to keep. Raises FileNotFoundError where it is gone from the disk."""
    file = path_of(folder, paper.sha256).open("rb")
    is_of = type_of(file.read(FIRST_BYTES)) or "application/octet-stream"
    file.seek(0)
    response = FileResponse(file, as_attachment=True, filename=paper.name, content_type=is_of)
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    return response
