from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from fleet.models.cart import Cart
from shared.models import Site


class RecheckQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)

    def active(self):
        return self.filter(ended="")

    def closed_by(self, row):
        """Those that a round closed, which are of its cart."""
        ended = {"ended": Recheck.Ended.CLOSED, "ended_by": row.pk}
        return self.filter(cart=row.cart_id, **ended).order_by("due_on", "id")

    def opening_by(self, day):
        """Active and opening on or before the day: what a board may show."""
        return self.active().filter(opens_on__lte=day)

    def stopped_on(self, day):
        return self.active().filter(stops_on__lte=day)

    def late_on_day(self, day):
        return self.active().filter(Q(stops_on=None) | Q(stops_on__gt=day), late_on__lte=day)


class Recheck(models.Model):
    """One piece of scheduled work on one cart, as the facts and the rule book have it today.

    A projection: thrown away and made anew it comes back the same. The state on
    a day follows from its dates and is never stored.
    """

    class Ended(models.TextChoices):
        NO = "", _("active")
        CLOSED = "closed", _("closed")
        VOID = "void", _("void")

    id = models.UUIDField(primary_key=True, editable=False)
    # each is the first column of an index below: one of its own would only cost writes
    site = models.ForeignKey(Site, models.PROTECT, related_name="+", db_index=False)
    cart = models.ForeignKey(Cart, models.CASCADE, related_name="rechecks", db_index=False)
    rule_code = models.CharField(max_length=60)
    kind_code = models.CharField(max_length=40)
    subject = models.CharField(max_length=60, blank=True)
    anchor_id = models.UUIDField()
    anchor_on = models.DateField()
    chapter = models.UUIDField(null=True)
    opens_on = models.DateField(null=True)
    due_on = models.DateField(null=True)
    late_on = models.DateField(null=True)
    stops_on = models.DateField(null=True)
    earliest_on = models.DateField(null=True)
    latest_on = models.DateField(null=True)
    governs = models.CharField(max_length=8, blank=True)
    due_hours = models.DecimalField(max_digits=12, decimal_places=3, null=True)
    due_metres = models.DecimalField(max_digits=16, decimal_places=3, null=True)
    calendar_due_on = models.DateField(null=True)
    is_forecast = models.BooleanField(default=False)
    is_estimated = models.BooleanField(default=False)
    minutes = models.PositiveSmallIntegerField(default=0)
    ended = models.CharField(max_length=6, choices=Ended, default=Ended.NO, blank=True)
    ended_by = models.UUIDField(null=True)
    ended_at = models.DateTimeField(null=True)
    ended_state = models.CharField(max_length=8, blank=True)
    void_reason = models.CharField(max_length=120, blank=True)

    objects = RecheckQuerySet.as_manager()

    class Meta:
        ordering = ["due_on", "id"]
        indexes = [
            models.Index(
                fields=["site", "due_on", "id"], condition=Q(ended=""), name="recheck_board"
            ),
            models.Index(
                fields=["site", "opens_on"],
                include=["due_on", "late_on", "stops_on", "cart", "id", "kind_code", "minutes"],
                condition=Q(ended=""),
                name="recheck_counts",
            ),
            models.Index(fields=["cart", "ended"], name="recheck_of_cart"),
        ]

    def __str__(self):
        return f"{self.kind_code} {self.subject} due {self.due_on}"
