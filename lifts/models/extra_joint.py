from django.db import models

from fleet.models import CartFact
from lifts.models.kit import Joint
from lifts.wheels import Wheel


class JointSeen(CartFact):
    """A joint that the kit's list lacks, as seen at the cart; a manager decides on it."""

    name = models.CharField(max_length=54)
    family = models.CharField(max_length=20, choices=Joint.Family)
    wheel = models.CharField(max_length=12, choices=Wheel, blank=True)
    count = models.PositiveSmallIntegerField(default=1)
    thread = models.CharField(max_length=40, blank=True)
    note = models.TextField(blank=True)
