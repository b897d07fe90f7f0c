"""What every recorded fact and its lines have in common."""

from django.conf import settings
from django.db import models
from django.db.models import Exists, OuterRef
from uuid6 import uuid7

from shared.clock import FOREVER
from shared.models.journal import Entry
from shared.models.site import Site


def new_id():
    return uuid7()


class FactQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)

    def known(self, happened_by, known_by=FOREVER):
        """Facts that had happened by one moment and had arrived by the other, if one is given."""
        return self.filter(done_at__lte=happened_by, received_at__lte=known_by)

    def standing(self, known_by=FOREVER):
        """Facts that nothing known by then has corrected or struck."""
        taken_back = Entry.objects.filter(corrects=OuterRef("pk"), received_at__lte=known_by)
        return self.filter(~Exists(taken_back))


class Fact(models.Model):
    """Something that happened. Inserted once, never changed: triggers see to it.

    ``done_at`` is when it happened, ``written_at`` when it was written down,
    ``received_at`` when the server took it in, never before the entry before it; of the
    first two, one left None becomes the moment of recording. ``corrects`` names the
    fact that this one replaces, for the reason in ``why_corrected``.
    """

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    done_at = models.DateTimeField()
    day_only = models.BooleanField(default=False)
    written_at = models.DateTimeField()
    received_at = models.DateTimeField(editable=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    brought_in = models.BooleanField(default=False)
    corrects = models.UUIDField(null=True, blank=True)
    why_corrected = models.TextField(blank=True)

    insert_only = True
    # nullable columns of a later version: none of what was sealed before holds them
    added_later: frozenset[str] = frozenset()
    objects = FactQuerySet.as_manager()

    class Meta:
        abstract = True
        ordering = ["done_at", "id"]

    def __str__(self):
        return f"{self._meta.verbose_name} {self.done_at:%Y-%m-%d %H:%M}"

    @classmethod
    def kind(cls):
        """Name of this kind of fact in the journal."""
        return cls._meta.label_lower

    def entry_cart_id(self):
        return getattr(self, "cart_id", None)


class Line(models.Model):
    """One of several values of a fact: has a foreign key ``fact`` and a place in its list."""

    place = models.PositiveSmallIntegerField()

    insert_only = True
    added_later: frozenset[str] = frozenset()

    class Meta:
        abstract = True
        ordering = ["fact", "place"]
