from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from uuid6 import uuid7

from shared.clock import day_at


class SiteQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(pk__in=viewer.site_ids)


class Site(models.Model):
    """A place with its own time zone, people, units and rule book."""

    class Units(models.TextChoices):
        METRIC = "metric", _("N·m, mm, km")
        INCH = "inch", _("lbf·ft, in, mi")

    class DateOrder(models.TextChoices):
        YMD = "ymd", _("year-month-day")
        MDY = "mdy", _("month/day/year")
        DMY = "dmy", _("day/month/year")

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    slug = models.SlugField(max_length=40, unique=True)
    name = models.CharField(max_length=120)
    zone = models.CharField(max_length=60)
    units = models.CharField(max_length=8, choices=Units, default=Units.INCH)
    date_order = models.CharField(max_length=4, choices=DateOrder, default=DateOrder.MDY)
    working_days = models.CharField(max_length=7, default="1234567")
    closures = models.JSONField(default=list, blank=True)
    digest_hour = models.PositiveSmallIntegerField(default=6)
    mechanic_minutes_a_day = models.PositiveIntegerField(default=312)
    start_day = models.DateField(null=True, blank=True)

    objects = SiteQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self):
        return self.name

    def day(self, at):
        return day_at(self.zone, at)


class PersonManager(BaseUserManager):
    def get_by_natural_key(self, username):
        return self.get(email__iexact=username)


class Person(AbstractBaseUser):
    """Someone who signs in. Never deleted: entries go on naming them."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    email = models.EmailField(max_length=254, unique=True)
    name = models.CharField(max_length=120)
    home_site = models.ForeignKey(Site, models.PROTECT, null=True, related_name="+")
    is_active = models.BooleanField(default=True)
    left_hand = models.BooleanField(default=False)

    objects = PersonManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS = ["name"]

    class Meta:
        ordering = ["name"]

    def __str__(self):
        return self.name


class Role(models.TextChoices):
    MANAGER = "manager", _("manager")
    MECHANIC = "mechanic", _("mechanic")
    DESK = "desk", _("desk")
    SURVEYOR = "surveyor", _("surveyor")


class MembershipQuerySet(models.QuerySet):
    def in_force(self, day):
        return self.filter(Q(to_day=None) | Q(to_day__gte=day), from_day__lte=day)

    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)


class Membership(models.Model):
    """What the latest role change says: a person's role at a site from a day to a day.

    ``may_release``: one who is no manager may hand tagged carts back all the same.
    ``is_above``: stands above the manager, and is told the same day that a cart is stopped.
    """

    site = models.ForeignKey(Site, models.PROTECT, related_name="memberships")
    person = models.ForeignKey(Person, models.PROTECT, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role)
    from_day = models.DateField()
    to_day = models.DateField(null=True, blank=True)
    may_release = models.BooleanField(default=False)
    is_above = models.BooleanField(default=False, db_default=False)

    objects = MembershipQuerySet.as_manager()

    class Meta:
        ordering = ["person__name"]
        constraints = [
            models.UniqueConstraint(fields=["site", "person"], name="membership_one_role_at_a_site")
        ]

    def __str__(self):
        return f"{self.person} · {self.get_role_display()} · {self.site}"

    @property
    def releases(self):
        """Whether the person may hand a tagged cart back."""
        return self.role == Role.MANAGER or self.may_release
