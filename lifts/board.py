"""What this app shows among the figures of the board."""

from django.urls import reverse
from django.utils.translation import gettext as _

from fleet.kinds import BoardLine, Cut
from fleet.models import Cart
from lifts import label_coverage
from lifts.extra_joints import waiting
from lifts.last_runs import last_runs, over_count
from lifts.racks import standings


def wrenches_not_good(site, viewer):
    """Yield how many wrenches may not be believed, nothing for a site without any."""
    rack = standings(site, Cut.known_now(viewer.at))
    if rack:
        count = sum(not standing.is_good for standing in rack)
        url = reverse("wrench-list", args=[site.slug])
        yield BoardLine(_("Wrenches not good"), str(count), url)


def joints_to_decide(site, viewer):
    """Yield how many joints were seen that a list lacks and nobody decided on, if any were."""
    carts = Cart.objects.visible_to(viewer).in_fleet().filter(site=site)
    count = len(waiting(carts, Cut.known_now(viewer.at)))
    if count:
        url = reverse("joint-seen-list", args=[site.slug])
        yield BoardLine(_("Joints that a list lacks"), str(count), url)


def over_their_class(site, viewer):
    """Yield how many carts are over their speed class, nothing where none is held to one."""
    if last_runs(viewer, site).exists():
        url = f"{reverse('speed-class-list', args=[site.slug])}#runs"
        yield BoardLine(_("Over their speed class"), str(over_count(viewer, site)), url)


def labels_in_force(site, viewer):
    """Yield at how many lifted carts the label was seen in force, and at how many with photos."""
    counts = label_coverage.counts(site, viewer)
    if counts["all"]:
        title = _("Labels seen in force, %(shot)s with photos") % {"shot": counts["recorded"]}
        figure = _("%(n)s/%(all)s") % {"n": counts["in_force"], "all": counts["all"]}
        yield BoardLine(title, figure, reverse("label-list", args=[site.slug]))
