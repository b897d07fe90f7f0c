from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models.facts import Part
from shared.models import Line


def _length_mm(**kwargs):
    # 1/64 in is 0.396875 mm: six places keep every fraction exact
    return models.DecimalField(max_digits=12, decimal_places=6, **kwargs)


def _as_typed():
    return models.CharField(max_length=40, blank=True)


class Side(models.TextChoices):
    LEFT = "left", _("left")
    RIGHT = "right", _("right")


class Stage(models.TextChoices):
    FOUND = "found", _("as found")
    LEFT = "left", _("as left")


class CamberToeSheet(Part):
    """A camber and toe sheet: how it was read, what was turned, and the limits of the day.

    Minus camber = top leans in; plus toe = toe-in, at ``diameter_mm``. The readings are lines.
    """

    class Pull(models.TextChoices):
        NONE = "none", _("runs straight")
        LEFT = "left", _("pulls to the left")
        RIGHT = "right", _("pulls to the right")

    diameter_mm = _length_mm(null=True, blank=True)
    diameter_typed = _as_typed()
    mark_mm = _length_mm()
    mark_typed = _as_typed()
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
    floor_fall_mm = _length_mm(null=True, blank=True)
    floor_fall_typed = _as_typed()
    floor_over_mm = _length_mm(null=True, blank=True)
    floor_over_typed = _as_typed()
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
    toe_low_mm = _length_mm()
    toe_high_mm = _length_mm()

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
    gap_top_mm = _length_mm(null=True, blank=True)
    gap_top_typed = _as_typed()
    gap_bottom_mm = _length_mm(null=True, blank=True)
    gap_bottom_typed = _as_typed()
    between_mm = _length_mm(null=True, blank=True)
    between_typed = _as_typed()
    gauge_deg = models.DecimalField(max_digits=7, decimal_places=4, null=True, blank=True)
    gauge_typed = _as_typed()

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
    front_mm = _length_mm()
    front_typed = _as_typed()
    rear_mm = _length_mm()
    rear_typed = _as_typed()
    before_last_camber_turn = models.BooleanField(default=False)

    class Meta(Line.Meta):
        constraints = [
            models.CheckConstraint(
                condition=models.Q(front_mm__gt=0, rear_mm__gt=0), name="toe_above_zero"
            )
        ]

    def __str__(self):
        return f"toe {self.stage} {self.place}"
