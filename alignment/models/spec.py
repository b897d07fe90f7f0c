from django.db import models
from django.utils.translation import gettext_lazy as _

from alignment.models.columns import as_typed, length_mm
from shared.models import Fact


class CamberAdjusts(models.TextChoices):
    SLEEVE = "sleeve", _("by a threaded sleeve on the upper arm")
    NOT = "not", _("not adjustable")


class AlignmentSpec(Fact):
    """What camber and toe are held to at a site, and how its carts are adjusted.

    For the carts with one kit, or with no ``kit_code`` for all others; the last one said
    stands, whole. A limit of None is that of the site, else the default. Each length stands
    as typed beside it. ``..._right_hand`` is the end with the right-hand thread, None for not
    told.
    """

    class Ends(models.TextChoices):
        SINGLE = "single", _("thread at one end")
        DOUBLE = "double", _("left- and right-hand thread")

    class Rods(models.TextChoices):
        TWO = "two", _("one on each side")
        ACROSS = "across", _("one across, with a drag link")

    class Arm(models.TextChoices):
        AHEAD = "ahead", _("ahead of the axle")
        BEHIND = "behind", _("behind the axle")

    class ThreadAt(models.TextChoices):
        WHEEL = "wheel", _("at the wheel end")
        MIDDLE = "middle", _("at the end towards the middle of the cart")

    kit_code = models.CharField(max_length=40, blank=True)
    source = models.CharField(max_length=200)
    camber_low_deg = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    camber_high_deg = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    side_to_side_deg = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    toe_low_mm = length_mm(null=True, blank=True)
    toe_low_typed = as_typed()
    toe_high_mm = length_mm(null=True, blank=True)
    toe_high_typed = as_typed()

    rods = models.CharField(max_length=6, choices=Rods, blank=True)
    rod_ends = models.CharField(max_length=6, choices=Ends, blank=True)
    rod_pitch_mm = length_mm(null=True, blank=True)
    rod_pitch_typed = as_typed()
    arm_mm = length_mm(null=True, blank=True)
    arm_typed = as_typed()
    arm = models.CharField(max_length=6, choices=Arm, blank=True)
    rod_height_mm = length_mm(null=True, blank=True)
    rod_height_typed = as_typed()

    camber_adjusts = models.CharField(max_length=6, choices=CamberAdjusts, blank=True)
    sleeve_ends = models.CharField(max_length=6, choices=Ends, blank=True)
    sleeve_pitch_mm = length_mm(null=True, blank=True)
    sleeve_pitch_typed = as_typed()
    knuckle_mm = length_mm(null=True, blank=True)
    knuckle_typed = as_typed()
    note = models.TextField(blank=True)
    rod_right_hand = models.CharField(max_length=6, choices=ThreadAt, null=True, blank=True)
    sleeve_right_hand = models.CharField(max_length=6, choices=ThreadAt, null=True, blank=True)

    added_later = frozenset({"rod_right_hand", "sleeve_right_hand"})

    class Meta(Fact.Meta):
        verbose_name = _("camber and toe figures of a kit")
        verbose_name_plural = _("camber and toe figures of kits")
        indexes = [models.Index(fields=["site", "kit_code", "received_at"], name="spec_of_kit")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(toe_low_mm=None) | models.Q(toe_low_mm__gte=0),
                name="spec_never_toe_out",
            )
        ]
