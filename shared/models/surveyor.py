from django.conf import settings
from django.db import models

from shared.models.site import Site


class SurveyorLink(models.Model):
    """The way in for a surveyor: a secret address and a code, told to them apart.

    Of both only hashes are kept. It lets in while a role at a site is in force.
    """

    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    token_sha256 = models.CharField(max_length=64, unique=True)
    code = models.CharField(max_length=128)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    withdrawn_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["made_at"]

    def __str__(self):
        return f"{self.person} from {self.made_at:%Y-%m-%d}"


class PageSeenQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)


class PageSeen(models.Model):
    """A page that a surveyor looked at, or a file that they took away."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    page = models.CharField(max_length=60)
    address = models.CharField(max_length=300)

    insert_only = True

    objects = PageSeenQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["site", "at"], name="page_seen_at_site")]

    def __str__(self):
        return f"{self.page} {self.at:%Y-%m-%d %H:%M}"
