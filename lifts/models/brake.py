from django.db import models

from fleet.models.facts import Part


class BrakeCheck(Part):
    """Travel and hold of the brake, and two stop runs where they were driven.

    A run is a time over the marked length and then the distance to a stop. What was
    typed stands beside each figure. ``reference_g`` is the braking that the runs are held
    against: the cart's own before its lift, or that of the site's plain carts.
    """

    # a plain cart's too: it is what a lifted cart's stop run is held against
    needs_lift = False

    is_pedal_low = models.BooleanField()
    holds_on_slope = models.BooleanField()
    cable_free = models.BooleanField()
    travel_before_typed = models.CharField(max_length=40, blank=True)
    travel_before_mm = models.DecimalField(max_digits=7, decimal_places=3, null=True)
    travel_after_typed = models.CharField(max_length=40, blank=True)
    travel_after_mm = models.DecimalField(max_digits=7, decimal_places=3, null=True)
    marked_typed = models.CharField(max_length=40, blank=True)
    marked_m = models.DecimalField(max_digits=8, decimal_places=4, null=True)
    time_1_s = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    stop_1_typed = models.CharField(max_length=40, blank=True)
    stop_1_m = models.DecimalField(max_digits=8, decimal_places=4, null=True)
    time_2_s = models.DecimalField(max_digits=6, decimal_places=2, null=True)
    stop_2_typed = models.CharField(max_length=40, blank=True)
    stop_2_m = models.DecimalField(max_digits=8, decimal_places=4, null=True)
    bracket_moved = models.BooleanField(null=True)
    is_even = models.BooleanField(null=True)
    jam_nut_nipped = models.BooleanField(null=True)
    reference_g = models.DecimalField(max_digits=5, decimal_places=4, null=True)
    reference_said = models.CharField(max_length=120, null=True)

    added_later = frozenset(
        {"bracket_moved", "is_even", "jam_nut_nipped", "reference_g", "reference_said"}
    )

    @property
    def has_stop_runs(self):
        measured = (self.marked_m, self.time_1_s, self.stop_1_m, self.time_2_s, self.stop_2_m)
        return None not in measured
