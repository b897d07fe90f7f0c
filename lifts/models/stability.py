from django.db import models

from fleet.models import CartFact
from shared.models import Line


class StabilityMeasure(CartFact):
    """What a cart's stability is computed from: weighed and measured, as typed and in SI.

    The height of its centre of gravity is that of the cart as it stood that day, empty,
    told outright or found by the axle lifts, which are lines.
    """

    mass_typed = models.CharField(max_length=40)
    mass_kg = models.DecimalField(max_digits=8, decimal_places=3)
    track_typed = models.CharField(max_length=40)
    track_mm = models.DecimalField(max_digits=8, decimal_places=3)
    wheelbase_typed = models.CharField(max_length=40, blank=True)
    wheelbase_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    hub_height_typed = models.CharField(max_length=40, blank=True)
    hub_height_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    cg_typed = models.CharField(max_length=40, blank=True)
    cg_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    people_typed = models.CharField(max_length=40, blank=True)
    people_kg = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    seated_typed = models.CharField(max_length=40, blank=True)
    seated_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    tyre_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    is_lifted = models.BooleanField()
    note = models.TextField(blank=True)


class AxleLift(Line):
    """One step of an axle lift: how high the axle was raised, what the other one then gained."""

    fact = models.ForeignKey(StabilityMeasure, models.PROTECT, related_name="lines")
    raised_typed = models.CharField(max_length=40)
    raised_mm = models.DecimalField(max_digits=8, decimal_places=3)
    gained_typed = models.CharField(max_length=40)
    gained_kg = models.DecimalField(max_digits=8, decimal_places=3)
