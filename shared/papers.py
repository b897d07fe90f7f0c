"""Papers taken in as they came, such as a maker's sheet: kept by SHA-256, handed out to keep.

A PDF is neither opened nor changed here, so it is only ever served as a download. Of a picture
the original is kept and never served: a plain copy without position is handed out. Files come
before rows: one without a row is harmless and the same upload finds it again.
"""

import hashlib
import io
from dataclasses import dataclass
from pathlib import Path, PurePath

from django.conf import settings
from django.http import FileResponse
from django.utils.translation import gettext_lazy as _

from shared import durable
from shared.photos import PhotoRefused, plain_copy

LARGEST_BYTES = 12_000_000
LONGEST_NAME_CHARS = 120

TOO_LARGE = _("The file is larger than 12 MB.")
NOT_A_PAPER = _("This is not a PDF, JPEG, PNG or WebP file.")

PDF_TYPE, COPY_TYPE, COPY_ENDING = "application/pdf", "image/jpeg", ".jpg"
# a file says itself what it is, whatever its name
BEGINS = {
    b"%PDF-": PDF_TYPE,
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
    """A kept file: the name it came under, and the SHA-256 it lies under.

    ``copy_sha256`` is that of a picture's copy, empty for a PDF and for one kept without.
    """

    name: str
    sha256: str
    copy_sha256: str = ""


def take(upload, folder: str) -> Paper:
    """Keep an uploaded file in a folder of the media, whole or not at all.

    Call it before any lock is taken: decoding a picture may last seconds. Raises
    PaperRefused for what is too large or no PDF, JPEG, PNG or WebP.
    """
    content = upload.read(LARGEST_BYTES + 1)
    if len(content) > LARGEST_BYTES:
        raise PaperRefused(TOO_LARGE)
    is_of = type_of(content[:FIRST_BYTES])
    if is_of is None:
        raise PaperRefused(NOT_A_PAPER)
    copy = None if is_of == PDF_TYPE else _copy_of(content)
    sha256 = _keep(folder, content)
    return Paper(short_name(upload.name), sha256, _keep(folder, copy) if copy else "")


def _copy_of(content: bytes) -> bytes:
    try:
        return plain_copy(content)[0]
    except PhotoRefused as refused:
        raise PaperRefused(refused.why) from refused


def _keep(folder: str, content: bytes) -> str:
    """Write a file under its SHA-256, whole or not at all; return that name."""
    sha256 = hashlib.sha256(content).hexdigest()
    path = path_of(folder, sha256)
    if not durable.find_again(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        durable.replace(path, content)
    return sha256


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
    """Answer with the file to keep; of a picture with its copy, made now where none was kept.

    Raises FileNotFoundError where it is gone from the disk, or can be copied no more.
    """
    content = path_of(folder, paper.copy_sha256 or paper.sha256).read_bytes()
    name, is_of = paper.name, type_of(content[:FIRST_BYTES])
    if is_of != PDF_TYPE:
        name, is_of = str(PurePath(name).with_suffix(COPY_ENDING)), COPY_TYPE
        content = content if paper.copy_sha256 else _copied_late(content)
    response = FileResponse(
        io.BytesIO(content), as_attachment=True, filename=name, content_type=is_of
    )
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    return response


def _copied_late(content: bytes) -> bytes:
    try:
        return _copy_of(content)
    except PaperRefused as refused:
        raise FileNotFoundError(str(refused.why)) from refused
