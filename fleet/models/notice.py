from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models.cart import Cart
from shared.models import Checkpoint, Site


class Notice(models.Model):
    """A reminder owed to a person about a cart, once for each stage.

    ``about`` is a recheck's id, or the fact that calls at once (a tag, a reading). One about
    a tool in doubt is about no cart.
    """

    class Stage(models.TextChoices):
        OPEN = "open", _("opened")
        DUE = "due", _("fell due")
        LATE = "late", _("went late")
        STOPPED = "stopped", _("stopped")
        TAGGED = "tagged", _("tagged")
        MOVING = "moving", _("stopped, and its meter still rises")
        TWO_ROUNDS = "two rounds", _("two rounds at once")
        DOUBTED = "doubted", _("a tool is doubted")

    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    cart = models.ForeignKey(Cart, models.CASCADE, null=True, related_name="+")
    about = models.UUIDField()
    stage = models.CharField(max_length=10, choices=Stage)
    day = models.DateField()
    made_at = models.DateTimeField()
    at_once = models.BooleanField(default=False)
    claimed_at = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True)
    dropped = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["made_at", "id"]
        constraints = [
            models.UniqueConstraint(fields=["about", "stage", "person"], name="notice_once_a_stage")
        ]
        indexes = [
            models.Index(
                fields=["person", "made_at"],
                condition=models.Q(sent_at=None, dropped=""),
                name="notice_waiting",
            )
        ]

    def __str__(self):
        return f"{self.stage} to {self.person_id}"


class Digest(models.Model):
    """The one mail a day that carries a person's notices."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    day = models.DateField()
    planned_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True)
    dropped = models.CharField(max_length=120, blank=True)
    empty = models.BooleanField(default=False)

    class Meta:
        ordering = ["day", "id"]
        constraints = [models.UniqueConstraint(fields=["person", "day"], name="digest_once_a_day")]
        indexes = [
            models.Index(
                fields=["planned_at"],
                condition=models.Q(sent_at=None, dropped="", empty=False),
                name="digest_waiting",
            )
        ]

    def __str__(self):
        return f"{self.day} to {self.person_id}"


class CheckpointMail(models.Model):
    """A checkpoint owed to a person by mail, so that it is kept where nobody here reaches."""

    checkpoint = models.ForeignKey(Checkpoint, models.PROTECT, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    claimed_at = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True)
    dropped = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["checkpoint", "person"]
        constraints = [
            models.UniqueConstraint(fields=["checkpoint", "person"], name="checkpoint_mail_once")
        ]
        indexes = [
            models.Index(
                fields=["checkpoint"],
                condition=models.Q(sent_at=None, dropped=""),
                name="checkpoint_mail_waiting",
            )
        ]

    def __str__(self):
        return f"{self.checkpoint_id} to {self.person_id}"
