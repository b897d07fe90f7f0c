from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models.cart import Cart
from shared.models import Fact


class CartFact(Fact):
    """A fact about one cart."""

    cart = models.ForeignKey(Cart, models.PROTECT, related_name="+")

    class Meta(Fact.Meta):
        abstract = True
        indexes = [models.Index(fields=["cart", "done_at"], name="%(class)s_of_cart")]


class MeterFitted(CartFact):
    """A meter begins: the cart's first, or one in place of another.

    ``start_shown`` and ``old_final`` are in the meter's own unit; ``old_final`` is
    what the meter that it replaces showed last.
    """

    class Measure(models.TextChoices):
        HOURS = "hours", _("hours")
        DISTANCE = "distance", _("distance")

    class Unit(models.TextChoices):
        HOURS = "h", _("h")
        KM = "km", _("km")
        MILES = "mi", _("mi")

    measure = models.CharField(max_length=8, choices=Measure)
    unit = models.CharField(max_length=2, choices=Unit)
    start_shown = models.DecimalField(max_digits=12, decimal_places=3)
    old_final = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    rolls_at = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    wheel_driven = models.BooleanField(default=False)
    set_for_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)


class Reading(CartFact):
    """What the meters showed, as shown; kept as typed beside it."""

    class Source(models.TextChoices):
        MECHANIC = "mechanic", _("read by the mechanic")
        DESK = "desk", _("read at the desk")
        SHEET = "sheet", _("from a sheet")
        ESTIMATED = "estimated", _("estimated")

    hours_shown = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    distance_shown = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    typed = models.CharField(max_length=80, blank=True)
    hours_rolled = models.BooleanField(default=False)
    distance_rolled = models.BooleanField(default=False)
    source = models.CharField(max_length=10, choices=Source, default=Source.MECHANIC)
    doubted = models.CharField(max_length=20, blank=True)
    round_id = models.UUIDField(null=True, blank=True)


class Round(CartFact):
    """One visit at a cart. Its parts, each a fact of the app that owns it, point here."""

    class Identified(models.TextChoices):
        SCANNED = "scanned", _("plate scanned")
        TYPED = "typed", _("number typed")
        LISTED = "listed", _("picked from a list")

    opened_at = models.DateTimeField()
    identified = models.CharField(max_length=8, choices=Identified, default=Identified.LISTED)
    cautions_seen = models.BooleanField(default=False)
    seen_elsewhere = models.BooleanField(default=False)
    note = models.TextField(blank=True)


class Part(CartFact):
    """A part of a round, as one fact. Each kind of part is a model of the app that owns it.

    One that ``needs_lift`` is for a cart that bears a lift alone. What it amounts to may rest
    on the columns ``judged_by`` alone, of it and of its lines: then what is alike is judged once.
    """

    needs_lift = True
    judged_by: tuple[str, ...] = ()

    round = models.ForeignKey(Round, models.PROTECT, related_name="+")

    class Meta(CartFact.Meta):
        abstract = True


class RecheckOrder(CartFact):
    """A recheck that the manager orders, sooner than or beside what the rules say."""

    kind_code = models.CharField(max_length=40)
    subject = models.CharField(max_length=60, blank=True)
    due_on = models.DateField()
    stops = models.BooleanField(default=False)
    reason = models.TextField()


class Tag(CartFact):
    """The cart is kept out of use, from a person or from a round's finding."""

    reason = models.TextField()
    is_critical = models.BooleanField(default=False)
    round_id = models.UUIDField(null=True, blank=True)
    key_place = models.CharField(max_length=120, blank=True)
    hangs_at = models.CharField(max_length=120, null=True)

    added_later = frozenset({"hangs_at"})


class HandBack(CartFact):
    """A tagged cart is returned to use, and by whom."""

    tag = models.ForeignKey(Tag, models.PROTECT, related_name="hand_backs")
    done = models.TextField()
    repaired_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    drive_note = models.TextField(blank=True)

    @property
    def is_same_person(self):
        """Released by the one who did the repair: allowed, and counted."""
        return self.repaired_by_id is not None and self.repaired_by_id == self.by_id


class Report(CartFact):
    """What the desk or a driver noticed about a cart."""

    class Noticed(models.TextChoices):
        KERB_HIT = "kerb hit", _("kerb hit")
        PULLS = "pulls", _("pulls to one side")
        NOISE = "noise", _("noise")
        BRAKE = "brake", _("brake")
        WET = "wet", _("wet above the hubs")
        LABEL_MISSING = "label missing", _("label missing")

    noticed = models.CharField(max_length=14, choices=Noticed)
    note = models.TextField(blank=True)


class Note(CartFact):
    text = models.TextField()


class Countersign(CartFact):
    """A manager lets a round count that was written more than a week after it was done.

    ``about`` is the round.
    """

    about = models.UUIDField()
    reason = models.TextField()
