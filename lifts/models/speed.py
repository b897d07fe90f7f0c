from django.db import models

from fleet.models.facts import Part


class SpeedRun(Part):
    """Two timed runs over one marked length, there and back.

    The class that the cart is held to is copied in, with its limit as printed in both
    units, and whether the site tags a cart that is over it.
    """

    needs_lift = False

    length_typed = models.CharField(max_length=40)
    length_m = models.DecimalField(max_digits=8, decimal_places=3)
    time_1_s = models.DecimalField(max_digits=6, decimal_places=2)
    time_2_s = models.DecimalField(max_digits=6, decimal_places=2)
    conditions = models.CharField(max_length=200, blank=True)
    tyre_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    class_code = models.CharField(max_length=40, null=True)
    class_name = models.CharField(max_length=120, null=True)
    class_source = models.CharField(max_length=200, null=True)
    limit_metric_kmh = models.DecimalField(max_digits=9, decimal_places=6, null=True)
    limit_inch_kmh = models.DecimalField(max_digits=9, decimal_places=6, null=True)
    limit_is_below = models.BooleanField(null=True)
    tags_over = models.BooleanField(null=True)

    added_later = frozenset(
        {
            "tyre_mm",
            "class_code",
            "class_name",
            "class_source",
            "limit_metric_kmh",
            "limit_inch_kmh",
            "limit_is_below",
            "tags_over",
        }
    )
