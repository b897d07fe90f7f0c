from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models.facts import Part
from lifts.models.fitting import HubBearing
from lifts.models.kit import Joint
from lifts.models.wrench import Wrench
from lifts.wheels import Wheel
from shared.models import Line


class Stage(models.TextChoices):
    SETTLING = "settling", _("settling")
    RECURRING = "recurring", _("recurring")


class WrenchState(models.TextChoices):
    """How far a wrench may be believed on a day; ``unnamed`` is no wrench said."""

    GOOD = "good", _("good")
    DUE = "due", _("due")
    DOUBTED = "doubted", _("doubted")
    WITHDRAWN = "withdrawn", _("withdrawn")
    UNNAMED = "unnamed", _("no wrench named")


class Lacks(models.TextChoices):
    """What is not known of a joint, so that no look at it can close."""

    TARGET = "target", _("target")
    BEARING = "bearing", _("hub bearing type")


class JointPart(Part):
    """The joints of a round. ``offered`` are the pieces of work that were asked for and begun.

    It and ``stage`` are kept so that what the looks amount to follows from this fact alone.
    """

    needs_lift = False
    judged_by = ("offered", "stage")

    offered = models.JSONField(default=list)
    stage = models.CharField(max_length=10, choices=Stage)
    wrench = models.CharField(max_length=60, blank=True)


class Look(Line):
    """What was found at one joint, with what the outcome needs of the joint copied in.

    ``removals`` counts how often its nut was taken off since it was new, this time too;
    ``loose_before`` how many looks in a row before this one found it loose, ``clean_since``
    how many in a row found it firm since it last was, null where it never was.
    ``full_loss_deg`` is how far the nut turns from its target to no clamp at all.
    """

    class Found(models.TextChoices):
        FIRM = "firm", _("FIRM")
        TOOK_UP = "took up", _("TOOK UP")
        SLACK = "slack", _("SLACK")
        GONE = "gone", _("GONE")
        NOT_REACHED = "not reached", _("NOT REACHED")

    class Action(models.TextChoices):
        NONE = "", _("nothing yet")
        TIGHTENED = "tightened", _("tightened")
        RELOCKED = "relocked", _("stripped, cleaned and re-locked")
        NUT = "new nut", _("new nut")
        BOLT = "new bolt", _("new bolt or stud")

    class Pin(models.TextChoices):
        NONE = "", _("no pin here")
        UNDISTURBED = "undisturbed", _("fitted, left alone")
        RENEWED = "renewed", _("new pin fitted")
        PULLED = "pulled, not renewed", _("pulled, no new pin yet")
        MISSING = "missing", _("missing")

    judged_by = (
        *("name", "family", "wheel", "is_critical", "is_thread_locked", "found", "action"),
        *("right_after", "pin", "backed_off", "stud_damaged", "wrench_state", "target_nm"),
        *("lacks", "nut_off", "removals", "removals_allowed", "loose_before", "clean_since"),
        "is_always_new",
    )

    fact = models.ForeignKey(JointPart, models.PROTECT, related_name="lines")
    joint = models.ForeignKey(Joint, models.PROTECT, related_name="+")
    name = models.CharField(max_length=54)
    family = models.CharField(max_length=20, choices=Joint.Family)
    wheel = models.CharField(max_length=12, choices=Wheel, blank=True)
    is_critical = models.BooleanField(default=False)
    is_thread_locked = models.BooleanField(default=False)
    found = models.CharField(max_length=12, choices=Found)
    moved_twelfths = models.PositiveSmallIntegerField(null=True)
    action = models.CharField(max_length=12, choices=Action, blank=True)
    right_after = models.BooleanField(default=False)
    pin = models.CharField(max_length=20, choices=Pin, blank=True)
    backed_off = models.BooleanField(default=False)
    stud_damaged = models.BooleanField(default=False)
    wrench = models.ForeignKey(Wrench, models.PROTECT, null=True, related_name="+")
    wrench_state = models.CharField(max_length=10, choices=WrenchState, null=True)
    target_nm = models.DecimalField(max_digits=9, decimal_places=4, null=True)
    lacks = models.CharField(max_length=10, choices=Lacks, null=True)
    hub_bearing = models.CharField(max_length=8, choices=HubBearing, null=True)
    adapter_deg = models.PositiveSmallIntegerField(null=True)
    nut_off = models.BooleanField(null=True)
    removals = models.PositiveSmallIntegerField(null=True)
    removals_allowed = models.PositiveSmallIntegerField(null=True)
    loose_before = models.PositiveSmallIntegerField(null=True)
    clean_since = models.PositiveSmallIntegerField(null=True)
    is_always_new = models.BooleanField(null=True)
    full_loss_deg = models.DecimalField(max_digits=7, decimal_places=2, null=True)

    added_later = frozenset(
        {
            "wrench",
            "wrench_state",
            "target_nm",
            "lacks",
            "hub_bearing",
            "adapter_deg",
            "nut_off",
            "removals",
            "removals_allowed",
            "loose_before",
            "clean_since",
            "is_always_new",
            "full_loss_deg",
        }
    )

    def __str__(self):
        return f"{self.name}: {self.found}"
