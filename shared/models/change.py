from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from shared.models.fact import Fact


class Change(Fact):
    """A change of the register: of a cart, a person's role, a site, a rule book or a kit.

    ``what`` names it; ``value`` holds the new state as plain JSON, decimals as
    strings. ``cart_id`` or ``person`` says whom it is about.
    """

    what = models.CharField(max_length=30)
    value = models.JSONField(default=dict)
    cart_id = models.UUIDField(null=True, blank=True)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    reason = models.TextField(blank=True)

    class Meta(Fact.Meta):
        indexes = [
            models.Index(fields=["cart_id", "done_at"], name="change_of_cart"),
            models.Index(fields=["site", "what", "done_at"], name="change_of_site"),
        ]


class Strike(Fact):
    """Takes back one entry and replaces nothing: the old value stays readable.

    ``corrects`` names the entry taken back.
    """

    cart_id = models.UUIDField(null=True, blank=True)


class Photo(Fact):
    """A photo: the fingerprint of what came in and of the copy without position."""

    class Shows(models.TextChoices):
        LABEL_SEAT = "label-seat", _("label seen from the seat")
        LABEL_CLOSE = "label-close", _("label close up")
        TAG = "tag", _("tag on the cart")
        TAPE = "tape", _("tape, square or gauge as read")
        OTHER = "other", _("other")

    cart_id = models.UUIDField(null=True, blank=True)
    about = models.UUIDField(null=True, blank=True)
    shows = models.CharField(max_length=12, choices=Shows)
    original_sha256 = models.CharField(max_length=64)
    copy_sha256 = models.CharField(max_length=64)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()

    class Meta(Fact.Meta):
        indexes = [
            models.Index(fields=["about"], name="photo_about"),
            models.Index(fields=["original_sha256"], name="photo_original"),
        ]
