from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models.facts import Part
from lifts.models.kit import GreasePoint
from shared.models import Line


class Thickener(models.TextChoices):
    """What thickens a lubricant: two of them are not mixed."""

    LITHIUM = "lithium", _("lithium")
    LITHIUM_COMPLEX = "lithium complex", _("lithium complex")
    CALCIUM_SULFONATE = "calcium sulfonate", _("calcium sulfonate")
    POLYUREA = "polyurea", _("polyurea")
    OTHER = "other", _("another")


class GreasePart(Part):
    """The grease points of a round; ``thickener_before`` is what was in them until then.

    Not ``is_whole`` where some points alone were asked for.
    """

    judged_by = ("thickener", "thickener_before", "is_whole")

    lubricant = models.CharField(max_length=80, blank=True)
    thickener = models.CharField(max_length=20, choices=Thickener, null=True)
    thickener_before = models.CharField(max_length=20, choices=Thickener, null=True)
    grams_a_stroke = models.DecimalField(max_digits=5, decimal_places=2, null=True)
    is_whole = models.BooleanField(null=True)

    added_later = frozenset({"thickener", "thickener_before", "grams_a_stroke", "is_whole"})


class OldGrease(models.TextChoices):
    CLEAN = "clean", _("clean")
    DARK = "dark", _("dark")
    MILKY = "milky", _("milky: water")
    GRITTY = "gritty", _("gritty")


class GreaseStroke(Line):
    """What was done at one grease point: strokes at each of its fittings, or clean grease seen."""

    class Found(models.TextChoices):
        GREASED = "greased", _("greased")
        BLOCKED = "blocked", _("blocked or missing")
        NOT_REACHED = "not reached", _("not reached")

    judged_by = ("name", "found", "clean_seen", "old_grease")

    fact = models.ForeignKey(GreasePart, models.PROTECT, related_name="lines")
    point = models.ForeignKey(GreasePoint, models.PROTECT, related_name="+")
    name = models.CharField(max_length=54)
    found = models.CharField(max_length=12, choices=Found)
    strokes = models.PositiveSmallIntegerField(null=True)
    clean_seen = models.BooleanField(default=False)
    boot_torn = models.BooleanField(default=False)
    old_grease = models.CharField(max_length=8, choices=OldGrease, null=True)
    weight_on = models.BooleanField(null=True)
    fittings = models.PositiveSmallIntegerField(null=True)

    added_later = frozenset({"old_grease", "weight_on", "fittings"})

    def __str__(self):
        return f"{self.name}: {self.found}"
