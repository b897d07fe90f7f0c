"""Taking in photos: the original kept and never served, a plain copy to show.

Files come before rows: a photo is decoded and both files are on disk before its fact
is recorded. A file without a row is harmless and the same upload finds it again.
"""

import hashlib
import subprocess
import sys
from pathlib import Path

from django.conf import settings
from django.utils.translation import gettext_lazy as _

from shared import durable, photo_child
from shared.models import Photo
from shared.trials import kill_point

LARGEST_BYTES = 12_000_000
LONGEST_WAIT_S = 30

TOO_LARGE = _("The photo is larger than 12 MB.")
NOT_A_PHOTO = _("This is not a whole JPEG, PNG or WebP photo.")
TOO_MANY_PIXELS = _("The photo has more than 24 million pixels.")
TOO_MUCH_WORK = _("The photo takes too long to open.")
REASONS = {
    photo_child.NOT_A_PHOTO: NOT_A_PHOTO,
    photo_child.TOO_MANY_PIXELS: TOO_MANY_PIXELS,
}


class PhotoRefused(Exception):
    """The upload cannot be kept as a photo; ``why`` says it in words for its sender."""

    def __init__(self, why):
        super().__init__(why)
        self.why = why


def take(upload, **fact) -> Photo:
    """Keep an uploaded photo and its plain copy, and return the fact of it, to be recorded.

    ``upload`` is an open file; ``fact`` holds the Photo's other fields. Call it before
    any lock is taken: decoding may last seconds.

    Raises PhotoRefused for what is too large, not a photo, or made to harm.
    """
    original = upload.read(LARGEST_BYTES + 1)
    if len(original) > LARGEST_BYTES:
        raise PhotoRefused(TOO_LARGE)
    copy, width, height = plain_copy(original)
    return Photo(
        original_sha256=_keep("originals", original),
        copy_sha256=_keep("copies", copy),
        width=width,
        height=height,
        **fact,
    )


def plain_copy(original: bytes) -> tuple[bytes, int, int]:
    """Return the upright JPEG without position, its width and height, made in a child."""
    # -I: neither this folder nor the environment's paths can lend it a module
    command = [sys.executable, "-I", "-B", photo_child.__file__]
    try:
        done = subprocess.run(
            command, input=original, capture_output=True, env={}, timeout=LONGEST_WAIT_S
        )
    except subprocess.TimeoutExpired as error:
        raise PhotoRefused(TOO_MUCH_WORK) from error
    if done.returncode:
        raise PhotoRefused(REASONS.get(done.returncode, TOO_MUCH_WORK))
    size, copy = done.stdout.split(b"\n", 1)
    width, height = size.split()
    return copy, int(width), int(height)


def find_same(site, sha256):
    """Return the site's photos whose original was this very file, struck ones too."""
    return Photo.objects.filter(site=site, original_sha256=sha256)


def is_at_another_site(site, sha256) -> bool:
    """Return whether another site took this very file in; of what, its own people may know."""
    return Photo.objects.filter(original_sha256=sha256).exclude(site=site).exists()


def copy_path(photo) -> Path:
    """Return where the copy that may be shown lies."""
    return _path("copies", photo.copy_sha256)


def original_path(photo) -> Path:
    """Return where the original lies: for a check of its fingerprint, never to be served."""
    return _path("originals", photo.original_sha256)


def _path(kind, sha256):
    return Path(settings.MEDIA_ROOT) / "photos" / kind / sha256[:2] / sha256


def _keep(kind, content):
    """Write a file under its SHA-256, whole or not at all; return that name."""
    sha256 = hashlib.sha256(content).hexdigest()
    path = _path(kind, sha256)
    if not durable.find_again(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        durable.replace(path, content)
        kill_point("after-file")
    return sha256
