from django.db import models
from django.utils.translation import gettext_lazy as _


class Wheel(models.TextChoices):
    """The four wheels, in the order of a walk round the cart."""

    LEFT_FRONT = "left front", _("left front")
    LEFT_REAR = "left rear", _("left rear")
    RIGHT_REAR = "right rear", _("right rear")
    RIGHT_FRONT = "right front", _("right front")
