from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models.facts import Part
from lifts.wheels import Wheel
from shared.models import Line


class TyreCheck(Part):
    """Pressures, tread and walls of the four tyres."""


class TyreLine(Line):
    """One tyre: the pressure found and the one set, as typed and in kPa."""

    fact = models.ForeignKey(TyreCheck, models.PROTECT, related_name="lines")
    wheel = models.CharField(max_length=12, choices=Wheel)
    found_typed = models.CharField(max_length=40, blank=True)
    found_kpa = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    set_typed = models.CharField(max_length=40, blank=True)
    set_kpa = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    tread_ok = models.BooleanField()
    wall_ok = models.BooleanField()

    def __str__(self):
        return self.wheel


class HubPlayCheck(Part):
    """Each wheel rocked at 12 and 6, at 3 and 9, and spun."""


class HubLook(Line):
    class Found(models.TextChoices):
        NONE = "no play", _("no play")
        PLAY = "play", _("play")
        NOT_REACHED = "not reached", _("not reached")

    fact = models.ForeignKey(HubPlayCheck, models.PROTECT, related_name="lines")
    wheel = models.CharField(max_length=12, choices=Wheel)
    found = models.CharField(max_length=12, choices=Found)

    def __str__(self):
        return f"{self.wheel}: {self.found}"
