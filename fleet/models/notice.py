from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models.cart import Cart
from shared.models import Checkpoint, Site


class Owed(models.Model):
    """A mail owed to a person, as a row: claimed, tried, and ended as sent, dropped or dead.

    ``dropped`` says why it is owed no more; with ``is_dead`` why it could not be sent, and the
    manager is shown it. ``sending_at`` is written before the mail is handed over: a row that is
    tried again with it may have been sent, and is then counted in ``doubtful``. ``deaths`` are
    workers that ended while they held the row.
    """

    claimed_at = models.DateTimeField(null=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    deaths = models.PositiveSmallIntegerField(default=0, db_default=0)
    next_try_at = models.DateTimeField(null=True)
    sending_at = models.DateTimeField(null=True)
    doubtful = models.PositiveSmallIntegerField(default=0, db_default=0)
    last_fault = models.CharField(max_length=200, blank=True, db_default="")
    sent_at = models.DateTimeField(null=True)
    dropped = models.CharField(max_length=120, blank=True)
    is_dead = models.BooleanField(default=False, db_default=False)

    class Meta:
        abstract = True


class Notice(Owed):
    """A reminder owed to a person about a cart, once for each stage.

    ``about`` is a recheck's id, or the fact that calls at once (a tag, a reading). One about
    a tool in doubt is about no cart.
    """

    class Stage(models.TextChoices):
        OPEN = "open", _("opened")
        DUE = "due", _("fell due")
        LATE = "late", _("went late")
        STOPPED = "stopped", _("stopped")
        ABOVE = "above", _("stopped, told above")
        TAGGED = "tagged", _("tagged")
        MOVING = "moving", _("stopped, and its meter still rises")
        RUNS_ON = "runs on", _("stopped for a week, and its meter still rises")
        TWO_ROUNDS = "two rounds", _("two rounds at once")
        DOUBTED = "doubted", _("a tool is doubted")

    # without indexes: nothing asks for all notices of one, and each costs every write
    site = models.ForeignKey(Site, models.PROTECT, related_name="+", db_index=False)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False
    )
    cart = models.ForeignKey(Cart, models.CASCADE, null=True, related_name="+", db_index=False)
    about = models.UUIDField()
    stage = models.CharField(max_length=10, choices=Stage)
    day = models.DateField()
    made_at = models.DateTimeField()
    at_once = models.BooleanField(default=False)

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
            ),
            models.Index(
                fields=["made_at"],
                condition=models.Q(sent_at=None, dropped="", at_once=True),
                name="notice_at_once",
            ),
            models.Index(fields=["site"], condition=models.Q(is_dead=True), name="notice_dead"),
            models.Index(
                fields=["made_at"], condition=models.Q(doubtful__gt=0), name="notice_doubtful"
            ),
        ]

    def __str__(self):
        return f"{self.stage} to {self.person_id}"


class Digest(Owed):
    """The one mail a day that carries a person's notices."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    day = models.DateField()
    planned_at = models.DateTimeField()
    empty = models.BooleanField(default=False)

    class Meta:
        ordering = ["day", "id"]
        constraints = [models.UniqueConstraint(fields=["person", "day"], name="digest_once_a_day")]
        indexes = [
            models.Index(
                fields=["planned_at"],
                condition=models.Q(sent_at=None, dropped="", empty=False),
                name="digest_waiting",
            ),
            models.Index(fields=["person"], condition=models.Q(is_dead=True), name="digest_dead"),
        ]

    def __str__(self):
        return f"{self.day} to {self.person_id}"


class CheckpointMail(Owed):
    """A checkpoint owed to a person by mail, so that it is kept where nobody here reaches."""

    checkpoint = models.ForeignKey(Checkpoint, models.PROTECT, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

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
            ),
            models.Index(
                fields=["person"], condition=models.Q(is_dead=True), name="checkpoint_mail_dead"
            ),
        ]

    def __str__(self):
        return f"{self.checkpoint_id} to {self.person_id}"


class ReminderChoice(models.Model):
    """What a person wants to be mailed, and in which hours not at once; no row is everything.

    ``without`` are stages that they do without. ``quiet_from`` and ``quiet_until`` are hours of
    their home site's clock between which nothing is mailed at once; the same hour is none.
    """

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, models.PROTECT, primary_key=True, related_name="+"
    )
    without = models.JSONField(default=list, blank=True)
    quiet_from = models.PositiveSmallIntegerField(default=21)
    quiet_until = models.PositiveSmallIntegerField(default=6)

    def __str__(self):
        return f"choice of {self.person_id}"


class CalendarFeed(models.Model):
    """A person's secret address of their calendar; of the secret only a hash is kept."""

    person = models.OneToOneField(
        settings.AUTH_USER_MODEL, models.PROTECT, primary_key=True, related_name="+"
    )
    secret_hash = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    fetched_at = models.DateTimeField(null=True)

    def __str__(self):
        return f"calendar of {self.person_id}"


class CalendarEvent(models.Model):
    """How often a recheck's event has changed since a calendar first held it (RFC 5545).

    ``about`` is the recheck's id; ``shown`` a hash of what the calendars were given.
    """

    about = models.UUIDField(primary_key=True)
    sequence = models.PositiveIntegerField(default=0)
    shown = models.CharField(max_length=64)
    changed_at = models.DateTimeField()

    def __str__(self):
        return f"{self.about} {self.sequence}"
