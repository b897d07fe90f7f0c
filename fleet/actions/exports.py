"""The surveyor's export of a site: asked for, made as a long job, kept for download."""

import os
import shutil
import tempfile
from pathlib import Path

from django.conf import settings
from django.db import transaction

from fleet.exporting.archive import pack, write_tables
from fleet.exporting.readme import readme_of
from fleet.exporting.scope import Scope
from fleet.kinds import Cut
from fleet.models import Export
from shared.facts import lock_sites

FOLDER = "exports"
MOST_UNFINISHED = 4
UNFINISHED = (Export.State.WAITING, Export.State.RUNNING)


class TooMany(Exception):
    """As many exports of the site wait already as may."""


@transaction.atomic
def ask(site, cut: Cut, *, by, at) -> Export:
    """Ask for an export; the same cut that waits already is that one.

    Raises TooMany when enough of them wait.
    """
    lock_sites(site.pk)
    unfinished = Export.objects.filter(site=site, state__in=UNFINISHED)
    moments = {"happened_by": cut.happened_by, "known_by": cut.known_by}
    same = unfinished.filter(**moments).first()
    if same is None and unfinished.count() >= MOST_UNFINISHED:
        raise TooMany(site)
    return same or Export.objects.create(site=site, asked_by=by, asked_at=at, **moments)


def path_of(export: Export) -> Path:
    """Return where the file of an export that is done lies."""
    return Path(settings.MEDIA_ROOT) / export.file


def run(export: Export, *, at, progress) -> dict:
    """Make the file of an export; see fleet.jobs. The file is there before the row says so."""
    folder = Path(settings.MEDIA_ROOT) / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    for left in folder.glob(f".{export.pk}-*"):
        # of a process that was killed at this
        shutil.rmtree(left, ignore_errors=True)
    name = f"{export.pk}.zip"
    cut = Cut(export.happened_by, export.known_by)
    with tempfile.TemporaryDirectory(prefix=f".{export.pk}-", dir=folder) as scratch:
        made = Path(scratch) / name
        sha256 = make(export.site, cut, made, at=at, by=export.asked_by.name, progress=progress)
        progress(100)
        os.replace(made, folder / name)
    return {"file": f"{FOLDER}/{name}", "sha256": sha256}


def make(site, cut: Cut, to: Path, *, at, by, progress) -> str:
    """Write the export of a site within a cut to a file, whole or not; return its SHA-256."""
    scope = Scope(site, cut)
    with tempfile.TemporaryDirectory(prefix=".export-", dir=to.parent) as scratch:
        folder = Path(scratch)
        tables = write_tables(scope, folder, progress)
        readme = readme_of(scope, tables, made_at=at, made_by=by)
        whole = folder / "whole.zip"
        sha256 = pack(folder, readme, [table.name for table in tables], whole)
        os.replace(whole, to)
    return sha256
