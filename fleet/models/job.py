from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _
from uuid6 import uuid7

from shared.models import Checkpoint, Site


class JobQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)


class Job(models.Model):
    """Long work as a row: run in a child process with a lease, progress and cancel."""

    class State(models.TextChoices):
        WAITING = "waiting", _("waiting")
        RUNNING = "running", _("running")
        DONE = "done", _("done")
        FAILED = "failed", _("failed")
        CANCELLED = "cancelled", _("cancelled")

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    state = models.CharField(max_length=10, choices=State, default=State.WAITING)
    progress = models.PositiveSmallIntegerField(default=0)
    attempts = models.PositiveSmallIntegerField(default=0)
    leased_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    message = models.TextField(blank=True)
    file = models.CharField(max_length=200, blank=True)
    sha256 = models.CharField(max_length=64, blank=True)

    objects = JobQuerySet.as_manager()

    class Meta:
        abstract = True
        ordering = ["-asked_at"]

    def __str__(self):
        return f"{self.asked_at:%Y-%m-%d %H:%M} {self.state}"


class Bundle(Job):
    """The audit bundle of a site as of two moments, and what of it was asked for.

    ``from_day`` leaves out what happened before it. Names stand as references unless
    ``with_names``. ``fingerprint`` is that of tables, entries and photos.
    """

    happened_by = models.DateTimeField()
    known_by = models.DateTimeField()
    from_day = models.DateField(null=True, blank=True)
    lifted_only = models.BooleanField(default=False)
    with_names = models.BooleanField(default=False)
    fingerprint = models.CharField(max_length=64, blank=True)
    checkpoint = models.ForeignKey(Checkpoint, models.PROTECT, null=True, related_name="+")


class ImportRun(Job):
    """A sheet brought in: previewed first, then all of it or nothing."""

    class Sheet(models.TextChoices):
        CARTS = "carts", _("carts")
        FITTINGS = "fittings", _("fittings")
        READINGS = "readings", _("meter readings")

    sheet = models.CharField(max_length=10, choices=Sheet)
    name = models.CharField(max_length=200)
    is_trial = models.BooleanField(default=True)
    report = models.JSONField(default=dict)
