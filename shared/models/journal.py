from django.db import models
from django.utils.translation import gettext_lazy as _

from shared.models.site import Site


class JournalHead(models.Model):
    """Where a site's journal ends. Every action locks it first, which also decides races."""

    site = models.OneToOneField(Site, models.PROTECT, primary_key=True, related_name="+")
    size = models.PositiveBigIntegerField(default=0)
    # opened anew by each restore of an older database
    epoch = models.PositiveIntegerField(default=1)
    last_received_at = models.DateTimeField(null=True)

    def __str__(self):
        return f"{self.site_id} at {self.size}"


class EntryQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)


class Entry(models.Model):
    """One line of a site's gapless journal: a fact's canonical bytes, salted and hashed.

    ``body`` is the RFC 8785 form of the fact with its lines;
    ``leaf`` is SHA-256(0x00 | salt | body).
    """

    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    seq = models.PositiveBigIntegerField()
    fact_id = models.UUIDField(unique=True)
    kind = models.CharField(max_length=60)
    cart_id = models.UUIDField(null=True)
    # one correction or strike an entry: a chain, never a tree
    corrects = models.UUIDField(null=True, unique=True)
    received_at = models.DateTimeField()
    body = models.BinaryField()
    salt = models.BinaryField(max_length=16)
    leaf = models.BinaryField(max_length=32)

    insert_only = True

    objects = EntryQuerySet.as_manager()

    class Meta:
        ordering = ["site", "seq"]
        constraints = [models.UniqueConstraint(fields=["site", "seq"], name="entry_gapless_key")]
        indexes = [
            models.Index(fields=["cart_id", "seq"], name="entry_of_cart"),
        ]

    def __str__(self):
        return f"{self.kind} {self.seq}"


class CheckpointQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)


class Checkpoint(models.Model):
    """A signed statement of how a site's journal stood, as mailed and printed.

    ``root`` is the head of the hash tree (RFC 9162) over the first ``size`` leaves;
    ``key`` the public key as hex and ``signature`` the signature as hex (Ed25519).
    """

    class Cause(models.TextChoices):
        DAILY = "daily", _("daily")
        BUNDLE = "bundle", _("with an audit bundle")
        RESTORE = "restore", _("with a restore")
        KEY = "key", _("with a change of the key")

    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    epoch = models.PositiveIntegerField()
    size = models.PositiveBigIntegerField()
    root = models.BinaryField(max_length=32)
    made_at = models.DateTimeField()
    key = models.CharField(max_length=64)
    signature = models.CharField(max_length=128)
    cause = models.CharField(max_length=8, choices=Cause)

    insert_only = True

    objects = CheckpointQuerySet.as_manager()

    class Meta:
        ordering = ["site", "made_at", "id"]
        indexes = [models.Index(fields=["site", "made_at"], name="checkpoint_of_site")]

    def __str__(self):
        return f"{self.site_id} epoch {self.epoch} at {self.size}"
