"""What this app shows among the figures of the board."""

from django.urls import reverse
from django.utils.translation import gettext as _

from fleet.kinds import BoardLine, Cut
from lifts.racks import standings


def wrenches_not_good(site, viewer):
    """Yield how many wrenches may not be believed, nothing for a site without any."""
    rack = standings(site, Cut(viewer.at, viewer.at))
    if rack:
        count = sum(not standing.is_good for standing in rack)
        url = reverse("wrench-list", args=[site.slug])
        yield BoardLine(_("Wrenches not good"), str(count), url)
