"""What the desk or a driver noticed and nobody has looked into, and the tags that stand."""

from datetime import timedelta

from django.db.models import Exists, OuterRef

from fleet.calls import open_tags
from fleet.kinds import Cut
from fleet.models import Report, Round, Tag

SHOWN_FOR = timedelta(days=7)


def unanswered(viewer, site, at):
    """Return the reports of the last days after which the cart had no round and no tag."""
    return unanswered_at(site, Cut.known_now(at)).visible_to(viewer)


def unanswered_at(site, cut):
    """Return the reports that stood unanswered within a cut."""
    times = (cut.happened_by, cut.known_by)
    reports = Report.objects.known(*times).standing(cut.known_by)
    reports = reports.filter(site=site, done_at__gt=cut.happened_by - SHOWN_FOR)
    for model in (Round, Tag):
        since = model.objects.known(*times).filter(
            cart=OuterRef("cart"), done_at__gte=OuterRef("done_at")
        )
        reports = reports.exclude(Exists(since))
    return reports.select_related("cart", "by").order_by("-done_at", "-id")


def standing_tags(viewer, site):
    """Return the tags on carts of the site that no hand-back has answered, oldest first."""
    tags = open_tags().filter(cart__site=site, cart__site_id__in=viewer.site_ids)
    return tags.filter(cart__is_tagged=True).select_related("cart").order_by("done_at", "id")
