from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models import CartFact
from lifts.models.kit import Kit
from lifts.wheels import Wheel


class Fitting(CartFact):
    """A kit was put on a cart. Another fitting, or a removal, closes its chapter."""

    class Paperwork(models.TextChoices):
        FULL = "full", _("full")
        PARTIAL = "partial", _("partial")
        NONE = "none", _("none")

    kit = models.ForeignKey(Kit, models.PROTECT, related_name="fittings")
    fitted_by = models.CharField(max_length=120, blank=True)
    firm = models.CharField(max_length=120, blank=True)
    paperwork = models.CharField(max_length=8, choices=Paperwork, default=Paperwork.FULL)
    rise_front_typed = models.CharField(max_length=40, blank=True)
    rise_front_mm = models.DecimalField(max_digits=7, decimal_places=3, null=True)
    rise_rear_typed = models.CharField(max_length=40, blank=True)
    rise_rear_mm = models.DecimalField(max_digits=7, decimal_places=3, null=True)
    tyre_before = models.CharField(max_length=40, blank=True)
    tyre_before_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    tyre_after = models.CharField(max_length=40, blank=True)
    tyre_after_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    u_bolt_batch = models.CharField(max_length=60, blank=True)
    note = models.TextField(blank=True)


class Removal(CartFact):
    """A lift was taken off its cart."""

    fitting = models.ForeignKey(Fitting, models.PROTECT, related_name="+")
    reason = models.TextField()


class WheelOff(CartFact):
    """A wheel was off its cart: its lugs are new to the hub again."""

    wheel = models.CharField(max_length=12, choices=Wheel)
    reason = models.CharField(max_length=200, blank=True)
    is_tyre_changed = models.BooleanField(default=False)
