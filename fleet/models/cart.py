import secrets

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from uuid6 import uuid7

from shared.models import Site

PLATE_BYTES = 10


def new_plate():
    """Return an opaque token for a cart's plate: an identifier, never a permission."""
    return secrets.token_hex(PLATE_BYTES)


class UseClass(models.TextChoices):
    RENTAL = "rental", _("rental")
    STAFF = "staff", _("staff")
    SHUTTLE = "shuttle", _("shuttle")
    OWNER = "owner", _("owner")
    TRAIL = "trail", _("trail")
    SHORE = "shore", _("shore")


class CartQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)

    def in_fleet(self):
        return self.exclude(condition=Cart.Condition.LEFT)

    def lifted(self):
        return self.filter(is_lifted=True)


class Cart(models.Model):
    """One vehicle, as its facts say today. The painted number may be reused; the id never.

    The last columns hold the latest readings, as shown and in life units, so that a limit
    in life units can be said as the figure that the present meter will show.
    """

    class Condition(models.TextChoices):
        ON_STANDS = "on stands", _("on stands")
        IN_USE = "in use", _("in use")
        LAID_UP = "laid up", _("laid up")
        LEFT = "left", _("left")

    class Power(models.TextChoices):
        ELECTRIC = "electric", _("electric")
        FLOODED = "flooded", _("electric, flooded battery")
        SEALED = "sealed", _("electric, sealed battery")
        LITHIUM = "lithium", _("electric, lithium battery")
        PETROL = "petrol", _("petrol")

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="carts")
    number = models.CharField(max_length=20)
    plate = models.CharField(max_length=40, unique=True, default=new_plate)
    serial = models.CharField(max_length=60, blank=True)
    model_year = models.PositiveSmallIntegerField(null=True, blank=True)
    colour = models.CharField(max_length=40, blank=True)
    seats = models.PositiveSmallIntegerField(null=True, blank=True)
    power = models.CharField(max_length=10, choices=Power, blank=True)
    use_class = models.CharField(max_length=10, choices=UseClass, default=UseClass.RENTAL)
    owner_ref = models.CharField(max_length=60, blank=True)
    bay = models.CharField(max_length=40, blank=True)
    area = models.CharField(max_length=40, blank=True)
    tyre = models.CharField(max_length=40, blank=True)
    tyre_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    insurer_told_on = models.DateField(null=True, blank=True)
    joined_on = models.DateField()
    left_on = models.DateField(null=True, blank=True)
    condition = models.CharField(max_length=10, choices=Condition, default=Condition.IN_USE)
    is_lifted = models.BooleanField(default=False)
    is_unproven = models.BooleanField(default=False)
    is_tagged = models.BooleanField(default=False)
    # pieces of work not recorded yet before it may leave the stands
    missing = models.JSONField(default=list, blank=True)
    unrecorded_before = models.DateField(null=True, blank=True)
    read_at = models.DateTimeField(null=True, blank=True)
    hours_shown = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    hours_life = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    distance_shown = models.DecimalField(max_digits=12, decimal_places=3, null=True, blank=True)
    distance_unit = models.CharField(max_length=2, blank=True)
    metres_life = models.DecimalField(max_digits=16, decimal_places=3, null=True, blank=True)
    metres_per_shown = models.DecimalField(max_digits=14, decimal_places=6, null=True, blank=True)

    objects = CartQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        indexes = [models.Index(fields=["site", "number"], name="cart_by_number")]

    def __str__(self):
        return self.number

    def get_absolute_url(self):
        return reverse("cart-detail", args=[self.site.slug, self.pk])

    def hours_at(self, life_hours):
        """Return what the hour meter will show at a life in hours; None without a meter."""
        if self.hours_life is None or life_hours is None:
            return None
        return self.hours_shown + life_hours - self.hours_life

    def distance_at(self, life_metres):
        """Return what the distance meter will show at a true life in metres."""
        if self.metres_life is None or life_metres is None:
            return None
        return self.distance_shown + (life_metres - self.metres_life) / self.metres_per_shown


class CartNumberQuerySet(models.QuerySet):
    def on(self, day):
        return self.from_day_on(day).filter(from_day__lte=day)

    def from_day_on(self, day):
        """Return the numbers carried on a day or later."""
        return self.filter(Q(to_day=None) | Q(to_day__gte=day))


class CartNumber(models.Model):
    """A painted number on a cart from a day to a day: number and date name one cart."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    cart = models.ForeignKey(Cart, models.CASCADE, related_name="numbers")
    number = models.CharField(max_length=20)
    from_day = models.DateField()
    to_day = models.DateField(null=True, blank=True)

    objects = CartNumberQuerySet.as_manager()

    class Meta:
        ordering = ["from_day"]
        indexes = [models.Index(fields=["site", "number"], name="number_at_site")]

    def __str__(self):
        return f"{self.number} from {self.from_day}"
