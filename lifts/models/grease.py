from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models.facts import Part
from lifts.models.kit import GreasePoint
from shared.models import Line


class GreasePart(Part):
    """The grease points of a round."""

    lubricant = models.CharField(max_length=80, blank=True)


class GreaseStroke(Line):
    """What was done at one grease point: strokes of the gun, or clean grease seen."""

    class Found(models.TextChoices):
        GREASED = "greased", _("greased")
        BLOCKED = "blocked", _("blocked or missing")
        NOT_REACHED = "not reached", _("not reached")

    fact = models.ForeignKey(GreasePart, models.PROTECT, related_name="lines")
    point = models.ForeignKey(GreasePoint, models.PROTECT, related_name="+")
    name = models.CharField(max_length=54)
    found = models.CharField(max_length=12, choices=Found)
    strokes = models.PositiveSmallIntegerField(null=True)
    clean_seen = models.BooleanField(default=False)
    boot_torn = models.BooleanField(default=False)

    def __str__(self):
        return f"{self.name}: {self.found}"
