from django.db import models

from shared.models.site import Site


class JournalHead(models.Model):
    """Where a site's journal ends. Every action locks it first, which also decides races."""

    site = models.OneToOneField(Site, models.PROTECT, primary_key=True, related_name="+")
    size = models.PositiveBigIntegerField(default=0)
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
