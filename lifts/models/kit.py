from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from fleet.models.cart import Cart
from lifts.wheels import Wheel
from shared.models import Site


class KitQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)

    def in_force(self, at):
        return self.filter(Q(replaced_at=None) | Q(replaced_at__gt=at), from_at__lte=at)

    def current(self):
        return self.filter(replaced_at=None)

    def lifting(self):
        """Leave out the sheets of plain carts, which no cart can be fitted with."""
        return self.exclude(front=Kit.Front.NONE, rear=Kit.Rear.NONE)

    def plain(self):
        return self.filter(front=Kit.Front.NONE, rear=Kit.Rear.NONE)


class Kit(models.Model):
    """One edition of a kind of lift, as the change of the register with the same id says.

    A new edition is a new row with the same code; rounds done under the old one stay with it.
    One that lifts neither end is the site's sheet for plain carts: its joints are theirs.
    """

    class Front(models.TextChoices):
        A_ARM = "a-arm", _("A-arm suspension")
        DROP_SPINDLE = "drop spindle", _("drop spindle")
        DROP_AXLE = "drop axle", _("drop axle")
        SPACER = "spacer", _("spacer")
        NONE = "none", _("not lifted in front")

    class Rear(models.TextChoices):
        BLOCK = "block", _("block")
        SHACKLE = "shackle", _("shackle")
        BOTH = "block and shackle", _("block and shackle")
        SPRINGS = "longer springs", _("longer springs")
        NONE = "none", _("not lifted in the rear")

    id = models.UUIDField(primary_key=True, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    code = models.SlugField(max_length=40)
    name = models.CharField(max_length=120)
    edition = models.CharField(max_length=60)
    front = models.CharField(max_length=20, choices=Front)
    rear = models.CharField(max_length=20, choices=Rear)
    rise_front_mm = models.DecimalField(max_digits=7, decimal_places=3, null=True)
    rise_rear_mm = models.DecimalField(max_digits=7, decimal_places=3, null=True)
    sheet = models.TextField(blank=True)
    sheet_name = models.CharField(max_length=120, blank=True)
    sheet_sha256 = models.CharField(max_length=64, blank=True)
    sheet_copy_sha256 = models.CharField(max_length=64, blank=True, default="")
    label_text = models.TextField(blank=True)
    above_proof = models.TextField(blank=True)
    from_at = models.DateTimeField()
    replaced_at = models.DateTimeField(null=True)

    objects = KitQuerySet.as_manager()

    class Meta:
        ordering = ["name", "from_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["site", "code"],
                condition=Q(replaced_at=None),
                name="kit_one_edition_in_force",
            )
        ]

    def __str__(self):
        return f"{self.name}, {self.edition}"

    def get_absolute_url(self):
        return reverse("kit-detail", args=[self.site.slug, self.pk])

    @property
    def is_plain(self):
        """Whether it lifts nothing, and so is the sheet of plain carts."""
        return self.front == self.Front.NONE and self.rear == self.Rear.NONE


class JointQuerySet(models.QuerySet):
    def on_sheet(self):
        """Leave out the joints that single carts have beside their kit's own."""
        return self.filter(cart=None)


class Joint(models.Model):
    """A threaded joint to check again, or several alike in one place, counted.

    One that was seen beside the kit's own belongs to its ``cart``, from ``from_at`` on.
    """

    class Family(models.TextChoices):
        LUGS = "lugs", _("wheel lugs")
        U_BOLTS = "u-bolts", _("U-bolts")
        HUB_NUTS = "hub-nuts", _("hub nuts")
        STEERING = "steering-joints", _("steering joints")
        OTHER = "other-joints", _("other joints")

    class Locking(models.TextChoices):
        NONE = "", _("none")
        PIN = "pin", _("castle nut and pin")
        TAB = "tab", _("tab washer")
        INSERT = "nylon insert", _("nylon insert")
        JAM = "jam nut", _("jam nut")

    class Locker(models.TextChoices):
        NONE = "", _("none")
        MEDIUM = "medium", _("medium")
        HIGH = "high", _("high")

    class Pattern(models.TextChoices):
        ANY = "", _("any order")
        STAR = "star", _("star")
        CROSSWISE = "crosswise", _("crosswise")

    id = models.UUIDField(primary_key=True, editable=False)
    kit = models.ForeignKey(Kit, models.CASCADE, related_name="joints")
    place = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=54)
    family = models.CharField(max_length=20, choices=Family)
    wheel = models.CharField(max_length=12, choices=Wheel, blank=True)
    count = models.PositiveSmallIntegerField(default=1)
    thread = models.CharField(max_length=40, blank=True)
    pitch_mm = models.DecimalField(max_digits=6, decimal_places=4, null=True)
    grade = models.CharField(max_length=20, blank=True)
    target_typed = models.CharField(max_length=40, blank=True)
    target_nm = models.DecimalField(max_digits=9, decimal_places=4, null=True)
    low_typed = models.CharField(max_length=40, blank=True)
    low_nm = models.DecimalField(max_digits=9, decimal_places=4, null=True)
    high_typed = models.CharField(max_length=40, blank=True)
    high_nm = models.DecimalField(max_digits=9, decimal_places=4, null=True)
    stages = models.CharField(max_length=40, blank=True)
    pattern = models.CharField(max_length=12, choices=Pattern, blank=True)
    weight_on = models.BooleanField(default=False)
    thread_locker = models.CharField(max_length=8, choices=Locker, blank=True)
    locking = models.CharField(max_length=16, choices=Locking, blank=True)
    is_critical = models.BooleanField(default=False)
    source = models.CharField(max_length=120, blank=True)
    grip_typed = models.CharField(max_length=40, blank=True)
    grip_mm = models.DecimalField(max_digits=7, decimal_places=3, null=True)
    nut_factor = models.DecimalField(max_digits=4, decimal_places=3, null=True)
    removals_allowed = models.PositiveSmallIntegerField(null=True)
    is_by_look = models.BooleanField(default=False)
    is_galvanised = models.BooleanField(default=False)
    no_adapter = models.BooleanField(default=False)
    always_new = models.BooleanField(default=False)
    cart = models.ForeignKey(Cart, models.PROTECT, null=True, related_name="+")
    from_at = models.DateTimeField(null=True)
    until_at = models.DateTimeField(null=True)

    objects = JointQuerySet.as_manager()

    class Meta:
        ordering = ["kit", "place"]
        constraints = [
            models.UniqueConstraint(
                fields=["kit", "name"], condition=Q(cart=None), name="joint_one_name_in_a_kit"
            ),
            models.UniqueConstraint(
                fields=["cart", "name"],
                condition=Q(until_at=None),
                name="joint_one_name_beside_a_kit",
            ),
        ]

    def __str__(self):
        return self.name

    @property
    def lacks_target(self):
        """Whether it is to be torqued, and to what is not known: no look closes its check."""
        return self.target_nm is None and not self.is_by_look

    @property
    def has_pin(self):
        return self.locking == self.Locking.PIN


class GreasePoint(models.Model):
    """A place to grease; rubber is listed so that nobody greases it."""

    id = models.UUIDField(primary_key=True, editable=False)
    kit = models.ForeignKey(Kit, models.CASCADE, related_name="grease_points")
    place = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=54)
    count = models.PositiveSmallIntegerField(default=1)
    is_rubber = models.BooleanField(default=False)
    weight_on = models.BooleanField(default=False)

    class Meta:
        ordering = ["kit", "place"]
        constraints = [
            models.UniqueConstraint(fields=["kit", "name"], name="greasepoint_one_name_in_a_kit")
        ]

    def __str__(self):
        return self.name
