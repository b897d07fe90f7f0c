from django.db import models
from django.utils.translation import gettext_lazy as _

from alignment.models.columns import as_typed, length_mm, pressure_kpa, typed_later
from alignment.models.spec import CamberAdjusts
from fleet.models.facts import Part
from shared.models import Line


class Side(models.TextChoices):
    LEFT = "left", _("left")
    RIGHT = "right", _("right")


class Stage(models.TextChoices):
    FOUND = "found", _("as found")
    LEFT = "left", _("as left")


class CamberToeSheet(Part):
    """A camber and toe sheet: how it was read, what was turned, and the limits of the day.

    Minus camber = top leans in; plus toe = toe-in, at ``diameter_mm``. The readings are lines,
    in ``passes``: the first as found, each later one after something was turned, or after the
    drive (``drive_pass``). An entry of before passes were asked has None there, and two stages.
    A sloping floor is taken out of camber unless ``floor_plates`` is False: cart and square
    then stood on it alike.
    """

    class Pull(models.TextChoices):
        NONE = "none", _("runs straight")
        LEFT = "left", _("pulls to the left")
        RIGHT = "right", _("pulls to the right")

    diameter_mm = length_mm(null=True, blank=True)
    diameter_typed = as_typed()
    mark_mm = length_mm()
    mark_typed = as_typed()
    gauge_mark_deg = models.DecimalField(max_digits=5, decimal_places=3, null=True, blank=True)

    pressures_equal = models.BooleanField(_("tyre pressures equal, cold"), default=False)
    tyres_alike = models.BooleanField(_("same tyres, worn alike"), default=False)
    rolled_forward = models.BooleanField(_("rolled forward 10 ft, not back"), default=False)
    steering_centred = models.BooleanField(
        _("wheels straight, steering wheel centred and held"), default=False
    )
    usual_load = models.BooleanField(_("usual load on the seat"), default=False)
    no_play = models.BooleanField(_("no play in tie rods, king-pins, hubs"), default=False)
    lugs_first = models.BooleanField(_("lugs checked first"), default=False)
    floor_fall_mm = length_mm(null=True, blank=True)
    floor_fall_typed = as_typed()
    floor_over_mm = length_mm(null=True, blank=True)
    floor_over_typed = as_typed()
    floor_low_side = models.CharField(max_length=5, choices=Side, blank=True)

    camber_turned_left = models.BooleanField(default=False)
    camber_turned_right = models.BooleanField(default=False)
    tie_rod_turned = models.BooleanField(default=False)
    driven = models.BooleanField(default=False)
    pull = models.CharField(max_length=5, choices=Pull, blank=True)
    confirmed = models.BooleanField(default=False)
    note = models.TextField(blank=True)

    camber_low_deg = models.DecimalField(max_digits=7, decimal_places=4)
    camber_high_deg = models.DecimalField(max_digits=7, decimal_places=4)
    side_to_side_deg = models.DecimalField(max_digits=7, decimal_places=4)
    toe_low_mm = length_mm()
    toe_high_mm = length_mm()

    passes = models.PositiveSmallIntegerField(null=True, blank=True)
    drive_pass = models.PositiveSmallIntegerField(null=True, blank=True)
    pressure_set_kpa = pressure_kpa()
    pressure_set_typed = typed_later()
    pressure_left_kpa = pressure_kpa()
    pressure_left_typed = typed_later()
    pressure_right_kpa = pressure_kpa()
    pressure_right_typed = typed_later()
    floor_level = models.BooleanField(null=True, blank=True)
    use_hours = models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True)
    use_km = models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True)
    is_settled = models.BooleanField(null=True, blank=True)
    after_kerb_hit = models.BooleanField(null=True, blank=True)
    camber_adjusts = models.CharField(max_length=6, choices=CamberAdjusts, null=True, blank=True)
    wheel_centred = models.BooleanField(null=True, blank=True)
    jam_nuts = models.BooleanField(null=True, blank=True)
    asked_for_more = models.BooleanField(null=True, blank=True)
    spec = models.UUIDField(null=True, blank=True)
    limits_from = models.CharField(max_length=200, null=True, blank=True)
    floor_plates = models.BooleanField(null=True, blank=True)

    added_later = frozenset(
        {
            "passes",
            "drive_pass",
            "pressure_set_kpa",
            "pressure_set_typed",
            "pressure_left_kpa",
            "pressure_left_typed",
            "pressure_right_kpa",
            "pressure_right_typed",
            "floor_level",
            "use_hours",
            "use_km",
            "is_settled",
            "after_kerb_hit",
            "camber_adjusts",
            "wheel_centred",
            "jam_nuts",
            "asked_for_more",
            "spec",
            "limits_from",
            "floor_plates",
        }
    )

    READY = (
        "pressures_equal",
        "tyres_alike",
        "rolled_forward",
        "steering_centred",
        "usual_load",
        "no_play",
        "lugs_first",
    )

    class Meta(Part.Meta):
        verbose_name = _("camber and toe sheet")
        verbose_name_plural = _("camber and toe sheets")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(floor_fall_mm=None, floor_over_mm=None, floor_low_side="")
                | models.Q(
                    floor_fall_mm__gte=0,
                    floor_over_mm__gt=0,
                    floor_low_side__in=Side.values,
                ),
                name="sheet_floor_whole_or_not",
            ),
            models.CheckConstraint(condition=models.Q(mark_mm__gt=0), name="sheet_mark_above_zero"),
        ]

    @property
    def not_ready(self):
        """What ought to have held before measuring and did not, in words."""
        missing = (name for name in self.READY if not getattr(self, name))
        return [self._meta.get_field(name).verbose_name for name in missing]


class CamberReading(Line):
    """One reading of a wheel's camber, by a square (two gaps and their height) or a gauge."""

    fact = models.ForeignKey(CamberToeSheet, models.PROTECT, related_name="camber_readings")
    stage = models.CharField(max_length=5, choices=Stage)
    side = models.CharField(max_length=5, choices=Side)
    gap_top_mm = length_mm(null=True, blank=True)
    gap_top_typed = as_typed()
    gap_bottom_mm = length_mm(null=True, blank=True)
    gap_bottom_typed = as_typed()
    between_mm = length_mm(null=True, blank=True)
    between_typed = as_typed()
    gauge_deg = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    gauge_typed = as_typed()
    pass_no = models.PositiveSmallIntegerField(null=True, blank=True)
    half_turn = models.BooleanField(null=True, blank=True)

    added_later = frozenset({"pass_no", "half_turn"})

    class Meta(Line.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(
                    gap_top_mm__gte=0,
                    gap_bottom_mm__gte=0,
                    between_mm__gt=0,
                    gauge_deg=None,
                )
                | models.Q(
                    gap_top_mm=None, gap_bottom_mm=None, between_mm=None, gauge_deg__isnull=False
                ),
                name="camber_by_square_or_gauge",
            )
        ]

    def __str__(self):
        return f"camber {self.side} {self.stage} {self.place}"


class ToeReading(Line):
    """One pass of the tape; their order is their place."""

    fact = models.ForeignKey(CamberToeSheet, models.PROTECT, related_name="toe_readings")
    stage = models.CharField(max_length=5, choices=Stage)
    front_mm = length_mm()
    front_typed = as_typed()
    rear_mm = length_mm()
    rear_typed = as_typed()
    before_last_camber_turn = models.BooleanField(default=False)
    pass_no = models.PositiveSmallIntegerField(null=True, blank=True)

    added_later = frozenset({"pass_no"})

    class Meta(Line.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(front_mm__gt=0, rear_mm__gt=0), name="toe_above_zero"
            )
        ]

    def __str__(self):
        return f"toe {self.stage} {self.place}"


class Turn(Line):
    """What was turned before the readings of a pass: one side's camber sleeve or tie rod.

    ``longer_flats`` are sixths of a turn, plus for longer, minus for shorter; None where they
    were not counted. ``formula_...`` is the change that the formula gives for them,
    ``predicted_...`` the reading that was foretold: degrees for a sleeve, mm of toe at the
    sheet's diameter for a tie rod (there of both sides together).
    """

    class What(models.TextChoices):
        SLEEVE = "sleeve", _("camber sleeve")
        ROD = "rod", _("tie rod")

    class At(models.TextChoices):
        LEFT = "left", _("left")
        RIGHT = "right", _("right")
        ACROSS = "across", _("the one across")

    fact = models.ForeignKey(CamberToeSheet, models.PROTECT, related_name="turns")
    pass_no = models.PositiveSmallIntegerField()
    what = models.CharField(max_length=6, choices=What)
    at = models.CharField(max_length=6, choices=At)
    longer_flats = models.DecimalField(max_digits=5, decimal_places=2, null=True, blank=True)
    formula_deg = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    formula_mm = length_mm(null=True, blank=True)
    predicted_deg = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    predicted_mm = length_mm(null=True, blank=True)

    class Meta(Line.Meta):
        constraints = [
            models.CheckConstraint(condition=models.Q(pass_no__gt=1), name="turn_after_a_pass")
        ]

    def __str__(self):
        return f"{self.what} {self.at} before pass {self.pass_no}"
