from django.db import models
from django.utils.translation import gettext_lazy as _

from fleet.models.facts import Part


class Condition(models.TextChoices):
    CLEAR = "clear", _("clear")
    WORN = "worn", _("worn, readable")
    UNREADABLE = "unreadable", _("not readable")
    COVERED = "covered", _("covered")
    GONE = "gone", _("gone")


class LabelCheck(Part):
    """The modification warning label as found. Its photos are facts about this one.

    ``letters_mm`` is the height of its capitals, ``seat_mm`` how far the driver's eye is.
    ``uncovered`` says that what covered it was taken off. Where the ``condition`` was asked
    the three older answers follow from it.
    """

    position = models.CharField(max_length=120, blank=True)
    in_place = models.BooleanField()
    is_legible = models.BooleanField()
    visible_from_seat = models.BooleanField()
    covered_by = models.CharField(max_length=120, blank=True)
    replaced = models.BooleanField(default=False)
    condition = models.CharField(max_length=12, choices=Condition, null=True)
    batch = models.CharField(max_length=60, null=True)
    letters_typed = models.CharField(max_length=40, null=True)
    letters_mm = models.DecimalField(max_digits=6, decimal_places=3, null=True)
    signal_word_typed = models.CharField(max_length=40, null=True)
    signal_word_mm = models.DecimalField(max_digits=6, decimal_places=3, null=True)
    seat_typed = models.CharField(max_length=40, null=True)
    seat_mm = models.DecimalField(max_digits=8, decimal_places=3, null=True)
    uncovered = models.BooleanField(null=True)
    number_in_picture = models.BooleanField(null=True)

    added_later = frozenset(
        {
            "condition",
            "batch",
            "letters_typed",
            "letters_mm",
            "signal_word_typed",
            "signal_word_mm",
            "seat_typed",
            "seat_mm",
            "uncovered",
            "number_in_picture",
        }
    )

    @property
    def is_good(self):
        """Whether a label can be read from the seat, as found or as left."""
        as_found = self.in_place and self.is_legible and self.visible_from_seat
        return as_found or self.replaced or bool(self.uncovered)
