"""The audit bundle of a site: asked for, made as a long job, kept for download."""

import os
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _

from fleet.bundle.archive import Changed, Making, make_archive
from fleet.bundle.journal import JournalSpoilt
from fleet.bundle.paper import write_papers
from fleet.bundle.paper.press import NotSet
from fleet.bundle.scope import Scope
from fleet.jobs import Failed
from fleet.kinds import Cut
from fleet.models import Bundle
from fleet.past_sites import site_at
from shared.facts import lock_sites
from shared.keys import KeyUnusable
from shared.models import Checkpoint, Entry, Person
from shared.outside import BehindOutside, OutsideSpoilt
from shared.sealing import Rewritten, make_checkpoint

FOLDER = "bundles"
MOST_UNFINISHED = 4
UNFINISHED = (Bundle.State.WAITING, Bundle.State.RUNNING)
UNSIGNABLE = (KeyUnusable, BehindOutside, OutsideSpoilt, Rewritten)


class TooMany(Exception):
    """As many bundles of the site wait already as may."""


class CannotBeMade(Exception):
    """No bundle can be made of the journal as it is; the message says why."""


@dataclass(frozen=True)
class Made:
    """A bundle that was made: the SHA-256 of its file, its fingerprint and its checkpoint."""

    sha256: str
    fingerprint: str
    checkpoint: Checkpoint


@transaction.atomic
def ask(site, cut: Cut, *, by, at, from_day=None, lifted_only=False, with_names=False) -> Bundle:
    """Ask for a bundle; one of the same scope that waits already is that one.

    Raises TooMany when enough of them wait.
    """
    lock_sites(site.pk)
    unfinished = Bundle.objects.filter(site=site, state__in=UNFINISHED)
    scope = {
        "happened_by": cut.happened_by,
        "known_by": cut.known_by,
        "from_day": from_day,
        "lifted_only": lifted_only,
        "with_names": with_names,
    }
    same = unfinished.filter(**scope).first()
    if same is None and unfinished.count() >= MOST_UNFINISHED:
        raise TooMany(site)
    return same or Bundle.objects.create(site=site, asked_by=by, asked_at=at, **scope)


def scope_of(bundle: Bundle) -> Scope:
    cut = Cut(bundle.happened_by, bundle.known_by)
    return Scope(
        site_at(bundle.site, cut), cut, bundle.from_day, bundle.lifted_only, bundle.with_names
    )


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
    with tempfile.TemporaryDirectory(prefix=f".{bundle.pk}-", dir=folder) as scratch:
        whole = Path(scratch) / name
        try:
            made = make(
                scope_of(bundle),
                whole,
                at=at,
                by=bundle.asked_by,
                progress=progress,
                write_papers=write_papers,
            )
        except CannotBeMade as error:
            raise Failed(str(error)) from error
        progress(100)
        os.replace(whole, folder / name)
    return {
        "file": f"{FOLDER}/{name}",
        "sha256": made.sha256,
        "fingerprint": made.fingerprint,
        "checkpoint": made.checkpoint,
    }


def make(
    scope: Scope, to: Path, *, at, by: Person | str, progress, write_papers=write_papers
) -> Made:
    """Write the bundle of a scope to a file, whole or not.

    Raises CannotBeMade where its journal cannot be signed, or is not what was signed.
    """
    try:
        return _make(scope, to, at, by, progress, write_papers)
    except UNSIGNABLE as error:
        raise CannotBeMade(str(error)) from error
    except JournalSpoilt as error:
        said = _("The stored entries are not those that were sealed: run verify_history.")
        raise CannotBeMade(said) from error
    except Changed as error:
        said = _("%(name)s changed while the bundle was made. Make it again.")
        raise CannotBeMade(said % {"name": error}) from error
    except NotSet as error:
        raise CannotBeMade(_("A page could not be set: %s") % error) from error


def _make(scope, to, at, by, progress, write_papers):
    checkpoint = make_checkpoint(
        scope.site, at=at, cause=Checkpoint.Cause.BUNDLE, known_by=scope.cut.known_by
    )
    made_by = scope.name(by.pk) if isinstance(by, Person) else by
    with tempfile.TemporaryDirectory(prefix=".bundle-", dir=to.parent) as scratch:
        folder = Path(scratch)
        making = Making(scope, checkpoint, folder, at, made_by, progress, write_papers)
        whole = folder / "whole.zip"
        sha256, fingerprint = make_archive(making, whole)
        _refuse_grown(scope, checkpoint)
        os.replace(whole, to)
    return Made(sha256, fingerprint, checkpoint)


def _refuse_grown(scope, checkpoint):
    """Refuse what tells of an entry that was under way when the checkpoint was signed."""
    entries = Entry.objects.filter(site=scope.site, received_at__lte=scope.cut.known_by)
    if entries.filter(seq__gt=checkpoint.size).exists():
        raise CannotBeMade(_("Something was recorded at that very moment. Make it again."))
