"""the audit bundle of a site: asked for, made as a long job, kept for download."""

import os
import shutil
import tempfile
from pathlib import Path

from django.conf import settings
from django.db import transaction

from fleet.bundle.archive import pack, write_tables
from fleet.bundle.readme import readme_of
from fleet.bundle.scope import Scope
from fleet.kinds import Cut
from fleet.models import Bundle
from shared.facts import lock_sites

FOLDER = "bundles"
MOST_UNFINISHED = 4
UNFINISHED = (Bundle.State.WAITING, Bundle.State.RUNNING)


class TooMany(Exception):
    """As many bundles of the site wait already as may."""


@transaction.atomic
def ask(site, cut: Cut, *, by, at) -> Bundle:
    """Ask for a bundle; the same cut that waits already is that one.

    Raises TooMany when enough of them wait.
    """
    lock_sites(site.pk)
    unfinished = Bundle.objects.filter(site=site, state__in=UNFINISHED)
    moments = {"happened_by": cut.happened_by, "known_by": cut.known_by}
    same = unfinished.filter(**moments).first()
    if same is None and unfinished.count() >= MOST_UNFINISHED:
        raise TooMany(site)
    return same or Bundle.objects.create(site=site, asked_by=by, asked_at=at, **moments)


def path_of(bundle: Bundle) -> Path:
    """Return where the file of a bundle that is done lies."""
    return Path(settings.MEDIA_ROOT) / bundle.file


def run(bundle: Bundle, *, at, progress) -> dict:
    """Make the file of a bundle; see fleet.jobs. The file is there before the row says so."""
    folder = Path(settings.MEDIA_ROOT) / FOLDER
    folder.mkdir(parents=True, exist_ok=True)
    for left in folder.glob(f".{bundle.pk}-*"):
        # of a process that was killed at this
        shutil.rmtree(left, ignore_errors=True)
    name = f"{bundle.pk}.zip"
    cut = Cut(bundle.happened_by, bundle.known_by)
    with tempfile.TemporaryDirectory(prefix=f".{bundle.pk}-", dir=folder) as scratch:
        made = Path(scratch) / name
        sha256 = make(bundle.site, cut, made, at=at, by=bundle.asked_by.name, progress=progress)
        progress(100)
        os.replace(made, folder / name)
    return {"file": f"{FOLDER}/{name}", "sha256": sha256}


def make(site, cut: Cut, to: Path, *, at, by, progress) -> str:
    """Write the bundle of a site within a cut to a file, whole or not; return its SHA-256."""
    scope = Scope(site, cut)
    with tempfile.TemporaryDirectory(prefix=".bundle-", dir=to.parent) as scratch:
        folder = Path(scratch)
        tables = write_tables(scope, folder, progress)
        readme = readme_of(scope, tables, made_at=at, made_by=by)
        whole = folder / "whole.zip"
        sha256 = pack(folder, readme, [table.name for table in tables], whole)
        os.replace(whole, to)
    return sha256
