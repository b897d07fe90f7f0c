from django.db import models


class LastDone(models.Model):
    """When something that must go on was last done, and what was seen: one row each.

    No record of a site: the rows say how the service itself is.
    """

    class What(models.TextChoices):
        SWEEP = "sweep"
        SWEEP_BY_BEAT = "sweep by beat"
        SWEEP_BY_LOOP = "sweep by loop"
        BACKUP = "backup"
        BACKUP_FAILED = "backup failed"
        RESTORE_PROVED = "restore proved"
        RESTORE_NOT_PROVED = "restore not proved"
        MAIL_REACHED = "mail reached"
        MAIL_NOT_REACHED = "mail not reached"
        CLOCK_STEPPED = "clock stepped"

    what = models.CharField(max_length=20, primary_key=True, choices=What)
    at = models.DateTimeField()
    said = models.JSONField(default=dict)

    class Meta:
        ordering = ["what"]

    def __str__(self):
        return f"{self.what} {self.at:%Y-%m-%d %H:%M}"
