from django.db import models

from fleet.models.facts import Part


class DriveCheck(Part):
    """The test drive: lock to lock and over a bump without a rub, straight, quiet."""

    clear_at_lock = models.BooleanField()
    clear_at_bump = models.BooleanField()
    runs_straight = models.BooleanField()
    is_quiet = models.BooleanField()
    driven_typed = models.CharField(max_length=40, blank=True)
    driven_m = models.DecimalField(max_digits=10, decimal_places=3, null=True)
