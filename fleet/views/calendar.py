"""A person's calendar: the page of its address, and what calendar programs fetch."""

from hashlib import sha256

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import translation
from django.utils.cache import get_conditional_response
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from fleet.actions.calendars import ONCE_IN, begin_fetch, make_feed, tell, withdraw_feed
from fleet.calendar import address_of, events_of, host, name_of, roles_told
from fleet.calendar_text import Edition, written
from fleet.models import CalendarFeed
from shared.actions import hash_of
from shared.viewer import Viewer

NOT_FOUND, TOO_MANY_REQUESTS = 404, 429
ONCE_IN_S = int(ONCE_IN.total_seconds())


@login_required
@require_safe
def calendar(request):
    return _page(request)


def _page(request, secret=None):
    viewer = request.viewer
    context = {
        "told": roles_told(viewer),
        "feed": CalendarFeed.objects.filter(person=viewer.person).first(),
        "address": secret and address_of(secret),
        "home": viewer.home,
    }
    response = render(request, "fleet/calendar.html", context)
    response["Cache-Control"] = "private, no-store"
    return response


@login_required
@require_POST
def calendar_make(request):
    """Make the address, or another in place of it, and show it this once."""
    if not roles_told(request.viewer):
        return redirect("calendar")
    return _page(request, make_feed(request.viewer.person, at=request.viewer.at))


@login_required
@require_POST
def calendar_withdraw(request):
    if withdraw_feed(request.viewer.person):
        messages.success(request, _("The address leads nowhere any more."))
    else:
        messages.warning(request, _("There was no address."))
    return redirect("calendar")


@require_safe
def calendar_feed(request, token):
    """Hand out the calendar of whoever's secret it is; one that is none any more was never one."""
    at = request.viewer.at
    feed = CalendarFeed.objects.filter(secret_hash=hash_of(token)).select_related("person").first()
    viewer = Viewer(feed and feed.person, at)
    if not roles_told(viewer):
        return _plain(_("There is no calendar at this address."), NOT_FOUND)
    if not begin_fetch(feed, at=at):
        return _plain(_("A calendar is fetched once a minute at most."), TOO_MANY_REQUESTS)
    # one text for all: the language that a program asks for is nobody's choice
    with translation.override(settings.LANGUAGE_CODE):
        return _answer(request, _text_for(viewer))


def _plain(text, status):
    response = HttpResponse(f"{text}\n", content_type="text/plain; charset=utf-8", status=status)
    response["Cache-Control"] = "private, no-store"
    if status == TOO_MANY_REQUESTS:
        response["Retry-After"] = str(ONCE_IN_S)
    return response


def _text_for(viewer):
    events = events_of(viewer)
    rows = tell(events, at=viewer.at)
    told = [(one, Edition(rows[one.about].sequence, rows[one.about].changed_at)) for one in events]
    return written(name_of(viewer), host(), told)


def _answer(request, text):
    response = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    response["Cache-Control"] = f"private, max-age={ONCE_IN_S}"
    response["ETag"] = f'"{sha256(text).hexdigest()}"'
    return get_conditional_response(request, etag=response["ETag"], response=response)
