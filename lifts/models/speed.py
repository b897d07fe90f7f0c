from django.db import models

from fleet.models.facts import Part


class SpeedRun(Part):
    """Two timed runs over one marked length, there and back."""

    length_typed = models.CharField(max_length=40)
    length_m = models.DecimalField(max_digits=8, decimal_places=3)
    time_1_s = models.DecimalField(max_digits=6, decimal_places=2)
    time_2_s = models.DecimalField(max_digits=6, decimal_places=2)
    conditions = models.CharField(max_length=200, blank=True)
