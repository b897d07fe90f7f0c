"""What people see while the database is older than its newest checkpoint outside."""

from django.shortcuts import render

from shared import outside
from shared.models import JournalHead
from shared.outside import BehindOutside, OutsideSpoilt

SERVICE_UNAVAILABLE = 503


class BehindMiddleware:
    """Answers with a plain page when nothing can be recorded for now."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_exception(self, request, exception):
        if not isinstance(exception, BehindOutside | OutsideSpoilt):
            return None
        return render(request, "shared/behind.html", status=SERVICE_UNAVAILABLE)


def behind(request):
    """Context of every page: what the journal lacks of what was signed, if anything."""
    viewer = getattr(request, "viewer", None)
    site = viewer and viewer.person and (request.site or viewer.home)
    if not site:
        return {}
    try:
        signed = outside.newest(site.pk)
    except OutsideSpoilt:
        return {"outside_spoilt": True}
    if signed is None:
        return {}
    head = JournalHead.objects.filter(pk=site.pk).first() or JournalHead(site=site)
    return {"signed_before": outside.is_behind(head), "journal_head": head}
