"""The mails of a site that could not be sent, and those that may have come twice. No writes."""

from dataclasses import dataclass
from datetime import timedelta

from django.db.models import Q
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from fleet.kinds import BoardLine
from fleet.models import CheckpointMail, Digest, Notice
from shared.models import Membership, Person

MOST_SHOWN = 100
DOUBTS_WITHIN = timedelta(days=30)
NOTICE, DIGEST, CHECKPOINT = "notice", "digest", "checkpoint"


@dataclass(frozen=True)
class Unsent:
    """A mail given up on: ``key`` names its row, ``reason`` is in the mail server's words."""

    key: str
    person: Person
    what: str
    reason: str
    tries: int
    doubtful: int


def rows_of(site):
    """Return {kind: QuerySet} of all that is or was owed at a site, whatever became of it.

    A daily mail is of a person and no site: those of people with a role here, past or present.
    """
    people = Membership.objects.filter(site=site).values("person_id")
    return {
        NOTICE: Notice.objects.filter(site=site),
        DIGEST: Digest.objects.filter(person_id__in=people),
        CHECKPOINT: CheckpointMail.objects.filter(checkpoint__site=site),
    }


def dead_at(site):
    """Return {kind: QuerySet} of the mails given up on at a site."""
    return {kind: rows.filter(is_dead=True) for kind, rows in rows_of(site).items()}


def dead_count(site):
    return sum(rows.count() for rows in dead_at(site).values())


def unsent_at(site) -> list[Unsent]:
    """Return mails given up on, the newest of each kind first."""
    dead = dead_at(site)
    related = {
        NOTICE: ("person", "cart"),
        DIGEST: ("person",),
        CHECKPOINT: ("person", "checkpoint"),
    }
    return [
        _unsent(kind, row, site)
        for kind, rows in dead.items()
        for row in rows.select_related(*related[kind]).order_by("-pk")[:MOST_SHOWN]
    ]


def _unsent(kind, row, site):
    what = {NOTICE: _notice, DIGEST: _digest, CHECKPOINT: _checkpoint}[kind](row, site)
    key = f"{kind}-{row.pk}"
    return Unsent(key, row.person, what, _reason(row), row.attempts, row.doubtful)


def _reason(row):
    """Return why it was given up on, and the last fault where that says more."""
    if row.last_fault.startswith(row.dropped):
        return row.last_fault
    if not row.last_fault:
        return row.dropped
    return f"{row.dropped}: {row.last_fault}"


def _notice(row, site):
    stage = row.get_stage_display()
    if row.cart is None:
        return _("Notice: %(stage)s") % {"stage": stage}
    return _("Notice: cart %(cart)s %(stage)s") % {"cart": row.cart, "stage": stage}


def _digest(row, site):
    return _("Daily mail of %(day)s") % {"day": date_format(row.day, "j M Y")}


def _checkpoint(row, site):
    day = site.day(row.checkpoint.made_at)
    return _("Checkpoint of %(day)s") % {"day": date_format(day, "j M Y")}


def doubtful_count(site, at):
    """Return how many mails of the last 30 days may have come twice."""
    since = at - DOUBTS_WITHIN
    made = {
        NOTICE: Q(made_at__gt=since),
        DIGEST: Q(planned_at__gt=since),
        CHECKPOINT: Q(checkpoint__made_at__gt=since),
    }
    return sum(
        rows.filter(made[kind], doubtful__gt=0).count() for kind, rows in rows_of(site).items()
    )


def board_line(site):
    """Yield how many mails could not be sent, if there are any."""
    count = dead_count(site)
    if count:
        yield BoardLine(_("Mails not sent"), str(count), reverse("mails", args=[site.slug]))
