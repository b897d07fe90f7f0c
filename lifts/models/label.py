from django.db import models

from fleet.models.facts import Part


class LabelCheck(Part):
    """The modification warning label as found. Its photos are facts about this one."""

    position = models.CharField(max_length=120, blank=True)
    in_place = models.BooleanField()
    is_legible = models.BooleanField()
    visible_from_seat = models.BooleanField()
    covered_by = models.CharField(max_length=120, blank=True)
    replaced = models.BooleanField(default=False)
