"""What the page of the seal shows: keys, restores, and what keeps the journal from being signed."""

from dataclasses import dataclass
from datetime import datetime
from textwrap import wrap

from shared import outside
from shared.clock import morning_of
from shared.models import Change, Checkpoint, JournalHead, Person, Restore
from shared.sealing import (
    SEAL_FAULTS,
    SIGNING_KEY,
    Missing,
    is_made,
    missing_of,
    refuse_unsignable,
    span_of_day,
)

DAILY = Checkpoint.Cause.DAILY
GROUP_CHARS = 4


@dataclass(frozen=True)
class KeyInForce:
    """A public key from a moment on; ``is_followed``: the key before signed it."""

    public: str
    since: datetime
    by: Person | None = None
    is_followed: bool = True

    @property
    def grouped(self):
        return " ".join(wrap(self.public, GROUP_CHARS))


def checkpoints_of(site, viewer):
    """Return the checkpoints of a site, newest first."""
    found = Checkpoint.objects.visible_to(viewer).filter(site=site).select_related("site")
    return found.order_by("-made_at", "-pk")


def longest_of(site, viewer):
    """Return the checkpoint over most of a journal: a bundle of the past makes shorter ones."""
    found = checkpoints_of(site, viewer)
    return found.order_by("-epoch", "-size", "-made_at", "-pk").first()


def keys_of(site, viewer) -> list[KeyInForce]:
    """Return the keys that signed a site's journal, newest first."""
    first = checkpoints_of(site, viewer).last()
    found = [KeyInForce(first.key, first.made_at)] if first else []
    told = Change.objects.filter(site=site, what=SIGNING_KEY).select_related("by")
    for change in told.order_by("received_at", "pk"):
        value = change.value
        is_followed = bool(value["signature"])
        found.append(KeyInForce(value["key"], change.received_at, change.by, is_followed))
    return found[::-1]


def restores_of(site):
    told = Restore.objects.filter(site=site).select_related("by")
    return told.order_by("-received_at", "-pk")


def head_of(site):
    return JournalHead.objects.filter(pk=site.pk).first() or JournalHead(site_id=site.pk)


@dataclass(frozen=True)
class Trouble:
    """What bars a site's journal from being signed: entries that are missing, or why else."""

    missing: Missing | None = None
    why: str = ""


def trouble_of(site, at) -> Trouble | None:
    """Return what bars the day's checkpoint, None if nothing does or it is made already.

    Reads the journal whole where the morning has passed without one.
    """
    head, day = head_of(site), site.day(at)
    morning_at = morning_of(day, site.digest_hour, site.zone)
    try:
        if outside.is_behind(head):
            return Trouble(missing=missing_of(head))
        if at >= morning_at and not is_made(site, DAILY, within=span_of_day(site, at)):
            refuse_unsignable(head)
    except SEAL_FAULTS as error:
        return Trouble(why=str(error))
    return None
