"""The folders and volumes that must take what is recorded, and the photos that lie there."""

import shutil
import tempfile
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.template.defaultfilters import filesizeformat
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from fleet.doctor.sign import trouble, well
from shared import photos
from shared.models import Photo

# judgement: a day's photos of a large fleet, and room to make a bundle
LEAST_FREE_BYTES = 2**30
LEAST_FREE_SHARE = 0.05
NEWEST_PHOTOS = 200


def volumes() -> dict[str, Path]:
    """Return name -> folder of what the tool writes; a database elsewhere is not seen from here."""
    found = {
        "media": Path(settings.MEDIA_ROOT),
        "checkpoints": Path(settings.CHECKPOINTS),
        "backups": Path(settings.BACKUPS),
    }
    if connection.vendor == "sqlite" and not connection.is_in_memory_db():
        found["database"] = Path(settings.DATABASES["default"]["NAME"]).parent
    return found


def free(folder: Path):
    """Return (free bytes, all bytes) of the volume that the folder is or will be on."""
    while not folder.exists():
        folder = folder.parent
    usage = shutil.disk_usage(folder)
    return usage.free, usage.total


def disks(at):
    full = [name for name, folder in volumes().items() if _is_full(*free(folder))]
    if full:
        return trouble(
            _("Hardly any room is left for: %(names)s.") % {"names": ", ".join(sorted(full))},
            _("Make room: old backups, bundles and logs first."),
        )
    least = min(free(folder)[0] for folder in volumes().values())
    return well(_("%(size)s are free where there is least.") % {"size": filesizeformat(least)})


def _is_full(free_bytes, all_bytes):
    return free_bytes < LEAST_FREE_BYTES or free_bytes < LEAST_FREE_SHARE * all_bytes


def media(at):
    if is_writable(settings.MEDIA_ROOT):
        return well(_("Photos and sheets can be kept."))
    return trouble(
        _("Nothing can be written into the folder of photos and sheets."),
        _("Give it to the tool's user again, or mount its volume: media in FLEET_VAR."),
    )


def is_writable(folder):
    """Try it with a file that has no name: rights alone do not tell of a read-only volume."""
    try:
        Path(folder).mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def newest_photos(at):
    newest = Photo.objects.order_by("-received_at")[:NEWEST_PHOTOS]
    gone = [photo for photo in newest if not _has_files(photo)]
    if gone:
        said = ngettext(
            "%(count)s of the newest photos lacks its file.",
            "%(count)s of the newest photos lack their files.",
            len(gone),
        )
        todo = _("Put the media folder back from the backup; verify_history names every one.")
        sites = sorted({photo.site.slug for photo in gone})
        return trouble(said % {"count": len(gone)}, todo, sites)
    return well(_("The newest photos have their files."))


def _has_files(photo):
    return photos.copy_path(photo).exists() and photos.original_path(photo).exists()
