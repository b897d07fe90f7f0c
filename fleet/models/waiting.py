from django.db import models

from fleet.models.cart import Cart
from shared.models import Site


class WaitingRoundQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)


class WaitingRound(models.Model):
    """A round that closes nothing until a manager countersigns it; ``id`` is the round's.

    A projection: thrown away and made anew it comes back the same. ``told_at`` is when the
    last of its late parts first arrived.
    """

    id = models.UUIDField(primary_key=True, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    cart = models.ForeignKey(Cart, models.CASCADE, related_name="waiting_rounds")
    done_at = models.DateTimeField()
    told_at = models.DateTimeField()

    objects = WaitingRoundQuerySet.as_manager()

    class Meta:
        ordering = ["done_at", "id"]

    def __str__(self):
        return f"round of {self.done_at:%Y-%m-%d %H:%M}"
