from django.conf import settings
from django.contrib.auth.hashers import check_password
from django.db import models

from shared.models.site import Site
from shared.surveyor_code import plain_code


class SurveyorLinkQuerySet(models.QuerySet):
    def live(self):
        return self.filter(withdrawn_at=None)

    def newest_of(self, person):
        """The link made last for a person, None without one."""
        return self.filter(person=person).order_by("-pk").first()


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
    withdrawn_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )

    objects = SurveyorLinkQuerySet.as_manager()

    class Meta:
        ordering = ["made_at"]

    def __str__(self):
        return f"{self.person} from {self.made_at:%Y-%m-%d}"

    @property
    def is_live(self):
        return self.withdrawn_at is None

    def fits(self, typed):
        """Whether the code typed is the link's: a slow hash, compared in constant time."""
        return check_password(plain_code(typed), self.code)


MOST_ADDRESS_CHARS = 300


class PageSeenQuerySet(models.QuerySet):
    def visible_to(self, viewer):
        return self.filter(site_id__in=viewer.site_ids)


class PageSeen(models.Model):
    """A page that a surveyor looked at, or a file that they took away."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="+")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    page = models.CharField(max_length=60)
    address = models.CharField(max_length=MOST_ADDRESS_CHARS)
    is_download = models.BooleanField(default=False)

    insert_only = True

    objects = PageSeenQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-id"]
        indexes = [models.Index(fields=["site", "at"], name="page_seen_at_site")]

    def __str__(self):
        return f"{self.page} {self.at:%Y-%m-%d %H:%M}"
