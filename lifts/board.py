"""What this app shows among the figures of the board."""

from django.urls import reverse
from django.utils.translation import gettext as _

from fleet.kinds import BoardLine, Cut
from lifts import label_coverage
from lifts.racks import standings


def wrenches_not_good(site, viewer):
    """Yield how many wrenches may not be believed, nothing for a site without any."""
    rack = standings(site, Cut(viewer.at, viewer.at))
    if rack:
        count = sum(not standing.is_good for standing in rack)
        url = reverse("wrench-list", args=[site.slug])
        yield BoardLine(_("Wrenches not good"), str(count), url)


def labels_recorded(site, viewer):
    """Yield how many lifted carts have their label recorded, as the bundle counts them."""
    found = label_coverage.standings(site, viewer)
    if found:
        counts = {"n": sum(one.is_recorded for one in found), "all": len(found)}
        figure = _("%(n)s of %(all)s") % counts
        yield BoardLine(_("Labels recorded"), figure, reverse("label-list", args=[site.slug]))
