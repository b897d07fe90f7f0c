from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models import CartFact
from lifts.models.kit import Kit
from lifts.wheels import Wheel
from shared.models import Line


class HubBearing(models.TextChoices):
    SEALED = "sealed", _("sealed cartridge")
    TAPER = "taper", _("taper roller, adjusted")


class LugSeat(models.TextChoices):
    CONE = "cone 60", _("cone, 60°")
    BALL = "ball", _("ball")
    FLAT = "flat", _("flat")


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
    hub_bearing = models.CharField(max_length=8, choices=HubBearing, null=True)
    u_bolt_thread = models.CharField(max_length=40, null=True)
    u_bolt_grade = models.CharField(max_length=40, null=True)
    u_bolts_a_side = models.PositiveSmallIntegerField(null=True)
    u_bolts_new = models.BooleanField(null=True)
    block_taper = models.CharField(max_length=60, null=True)
    block_why = models.CharField(max_length=200, null=True)
    reused_parts = models.TextField(null=True)
    locker_used = models.CharField(max_length=120, null=True)
    lug_seat = models.CharField(max_length=8, choices=LugSeat, null=True)
    tyre_rating = models.CharField(max_length=40, null=True)
    brake_tensioned = models.BooleanField(null=True)
    clear_at_lock = models.BooleanField(null=True)
    competence = models.CharField(max_length=120, null=True)
    handed_to = models.CharField(max_length=120, null=True)
    label_batch = models.CharField(max_length=60, null=True)

    added_later = frozenset(
        {
            "hub_bearing",
            "u_bolt_thread",
            "u_bolt_grade",
            "u_bolts_a_side",
            "u_bolts_new",
            "block_taper",
            "block_why",
            "reused_parts",
            "locker_used",
            "lug_seat",
            "tyre_rating",
            "brake_tensioned",
            "clear_at_lock",
            "competence",
            "handed_to",
            "label_batch",
        }
    )


class FittingLength(Line):
    """A length before and after the fitting: of what, and where on the cart."""

    class What(models.TextChoices):
        RIDE_HEIGHT = "ride height", _("ride height")
        TRACK = "track", _("track")
        BLOCK = "block height", _("block height")
        U_BOLT_LEG = "U-bolt leg", _("U-bolt leg")
        WHEEL_DIAMETER = "wheel diameter", _("wheel diameter")
        WHEEL_WIDTH = "wheel width", _("wheel width")
        WHEEL_OFFSET = "wheel offset", _("wheel offset")
        BRAKE_TRAVEL = "brake travel", _("brake travel")
        CABLE_BRACKET = "cable bracket moved", _("cable bracket moved")

    fact = models.ForeignKey(Fitting, models.PROTECT, related_name="lines")
    what = models.CharField(max_length=20, choices=What)
    where = models.CharField(max_length=12, blank=True)
    before_typed = models.CharField(max_length=40, blank=True)
    before_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    after_typed = models.CharField(max_length=40, blank=True)
    after_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)


class Removal(CartFact):
    """A lift was taken off its cart."""

    fitting = models.ForeignKey(Fitting, models.PROTECT, related_name="+")
    reason = models.TextField()


class WheelOff(CartFact):
    """A wheel was off its cart: its lugs are new to the hub again."""

    wheel = models.CharField(max_length=12, choices=Wheel)
    reason = models.CharField(max_length=200, blank=True)
    is_tyre_changed = models.BooleanField(default=False)
