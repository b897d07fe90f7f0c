from django.db import models

from shared.models.fact import Fact


class Restore(Fact):
    """An older database was put back: what is missing is named, and an epoch begins.

    ``outside`` is the text of the newest checkpoint kept outside the database. Entries
    ``missing_from`` to ``missing_to`` of the epoch before, both counted, are not here.
    """

    epoch = models.PositiveIntegerField()
    missing_from = models.PositiveBigIntegerField()
    missing_to = models.PositiveBigIntegerField()
    outside = models.TextField()
    reason = models.TextField()
