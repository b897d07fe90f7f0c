"""Wrenches that came into doubt, to be told at once."""

from django.urls import reverse
from django.utils.translation import gettext as _

from fleet.kinds import Cut, Doubt
from lifts.models import WrenchCertificate, WrenchCheck, WrenchEvent, WrenchState
from lifts.racks import standings
from lifts.wrench_standing import LEFT_OUT


def doubts(site, after, at):
    """Yield the wrenches in doubt at a moment by what arrived after the other one.

    One that was withdrawn since is used by nobody, and is not told.
    """
    if not _has_news(site, after):
        return
    for standing in standings(site, Cut.known_now(at)):
        if standing.state == WrenchState.DOUBTED and standing.doubt.known_at > after:
            yield _doubt(standing)


def _has_news(site, after):
    """Whether anything is new of the site's wrenches: most minutes nothing is."""
    return any(
        model.objects.filter(site=site, received_at__gt=after).exists()
        for model in (WrenchEvent, WrenchCheck, WrenchCertificate)
    )


def _doubt(standing):
    wrench = standing.wrench
    name = {"name": wrench.name}
    lines = (
        _("Wrench %(name)s: %(why)s.") % {**name, "why": standing.why},
        _("Put it away: what is tightened with it now does not close as good."),
    )
    title = _("Doubted: wrench %(name)s") % name
    return Doubt(standing.doubt.id, standing.doubt.known_at, title, lines, _url(standing))


def _url(standing):
    """Lead to the looks that are in doubt; a wrench left off only now has spoilt none."""
    wrench, doubt = standing.wrench, standing.doubt
    if doubt.why == LEFT_OUT:
        return wrench.get_absolute_url()
    return reverse("found-out", args=[wrench.site.slug, wrench.pk, doubt.id])
