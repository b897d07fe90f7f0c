from django.db import models
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from shared.models import Fact, Line, Site
from shared.units import with_unit


class WrenchQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)


class Wrench(models.Model):
    """A torque wrench of a site's rack, as the latest change of the register says.

    Its id is that of its first change. ``adapter_mm`` is the length of the adapter that
    hangs with it, ``length_mm`` its own from square to grip.
    """

    class Type(models.TextChoices):
        CLICK = "click", _("click")
        DIAL = "dial", _("dial")
        BEAM = "beam", _("beam")
        ELECTRONIC = "electronic", _("electronic")

    id = models.UUIDField(primary_key=True, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    name = models.CharField(max_length=20)
    type = models.CharField(max_length=12, choices=Type)
    full_scale_typed = models.CharField(max_length=40)
    full_scale_nm = models.DecimalField(max_digits=9, decimal_places=4)
    tolerance = models.DecimalField(max_digits=5, decimal_places=4)
    drive = models.CharField(max_length=20, blank=True)
    serial = models.CharField(max_length=60, blank=True)
    length_mm = models.DecimalField(max_digits=7, decimal_places=3, null=True)
    adapter_mm = models.DecimalField(max_digits=7, decimal_places=3, null=True)
    from_at = models.DateTimeField()

    objects = WrenchQuerySet.as_manager()

    class Meta:
        ordering = ["site", "name"]
        constraints = [
            models.UniqueConstraint(fields=["site", "name"], name="wrench_one_name_at_a_site")
        ]

    def __str__(self):
        return self.name

    def get_absolute_url(self):
        return reverse("wrench-detail", args=[self.site.slug, self.pk])

    @property
    def full_scale(self):
        """The full scale as typed, with its unit."""
        return with_unit(self.full_scale_typed, "torque", self.full_scale_nm)


class WrenchFact(Fact):
    """A fact about one wrench."""

    wrench = models.ForeignKey(Wrench, models.PROTECT, related_name="+")

    class Meta(Fact.Meta):
        abstract = True
        indexes = [models.Index(fields=["wrench", "done_at"], name="%(class)s_of_wrench")]


class WrenchCertificate(WrenchFact):
    """A laboratory's certificate; done on the day of calibration. Its points are lines."""

    number = models.CharField(max_length=60)
    laboratory = models.CharField(max_length=120, blank=True)
    tolerance = models.DecimalField(max_digits=5, decimal_places=4)
    file_name = models.CharField(max_length=120, blank=True)
    file_sha256 = models.CharField(max_length=64, blank=True)
    file_copy_sha256 = models.CharField(max_length=64, null=True)

    added_later = frozenset({"file_copy_sha256"})


class WrenchPoint(Line):
    """One torque of a certificate: the error as found and as left, as shares of what was set.

    Plus delivers more than was set.
    """

    fact = models.ForeignKey(WrenchCertificate, models.PROTECT, related_name="lines")
    set_typed = models.CharField(max_length=40)
    set_nm = models.DecimalField(max_digits=9, decimal_places=4)
    as_found = models.DecimalField(max_digits=7, decimal_places=5)
    as_left = models.DecimalField(max_digits=7, decimal_places=5)


class WrenchCheck(WrenchFact):
    """The monthly quick check on the site's own tester: what was set and what it read."""

    tester = models.CharField(max_length=60, blank=True)
    set_typed = models.CharField(max_length=40)
    set_nm = models.DecimalField(max_digits=9, decimal_places=4)
    read_typed = models.CharField(max_length=40)
    read_nm = models.DecimalField(max_digits=9, decimal_places=4)
    tolerance = models.DecimalField(max_digits=5, decimal_places=4)

    @property
    def error(self):
        """Share by which more was delivered than was set."""
        return self.read_nm / self.set_nm - 1

    @property
    def is_good(self):
        # torques of other units are kept to four places, which moves the error a little
        return abs(round(self.error, 4)) <= self.tolerance


class WrenchEvent(WrenchFact):
    """What befell a wrench: doubted at once, or out of use and back."""

    class What(models.TextChoices):
        DROPPED = "dropped", _("dropped")
        ABUSED = "abused", _("overloaded or misused")
        WITHDRAWN = "withdrawn", _("withdrawn from use")
        RETURNED = "returned", _("back in use")

    what = models.CharField(max_length=12, choices=What)
    note = models.TextField(blank=True)
