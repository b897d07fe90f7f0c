from django.db import models

from shared.models import Site


class RuleBook(models.Model):
    """A version of a site's rules, in force from a moment. Its id is that of the change."""

    id = models.UUIDField(primary_key=True, editable=False)
    site = models.ForeignKey(Site, models.PROTECT, related_name="rule_books")
    version = models.PositiveIntegerField()
    in_force_from = models.DateTimeField()
    rules = models.JSONField()
    reason = models.TextField()

    class Meta:
        ordering = ["site", "version"]
        constraints = [
            models.UniqueConstraint(fields=["site", "version"], name="rulebook_one_version")
        ]

    def __str__(self):
        return f"{self.site} {self.version}"
