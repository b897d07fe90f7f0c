"""How the service itself is: for the manager, for a monitor, for Prometheus."""

from hmac import compare_digest

from django.conf import settings
from django.http import Http404, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from fleet.doctor import metrics, signs
from fleet.doctor.running import runs_on
from fleet.doctor.watch import watch
from fleet.tables.service import table_of
from shared import clock
from shared.models import Role
from shared.viewer import allowed

SERVICE_UNAVAILABLE, UNAUTHORIZED = 503, 401


@allowed(Role.MANAGER)
@require_safe
@never_cache
def service(request):
    """Say in words what calls for the manager, then all that was looked at."""
    found = signs(request.viewer.at)
    calling = [sign for sign in found if sign.is_trouble]
    rest = [sign for sign in found if not sign.is_trouble]
    shown = {
        "calling": calling and table_of(calling, request.viewer),
        "rest": table_of(rest, request.viewer, without=("state", "todo")),
        "runs_on": runs_on(),
    }
    return render(request, "fleet/service.html", shown)


@require_safe
@never_cache
def health(request):
    """Say to a monitor whether anything calls for somebody: codes alone, for anybody may ask."""
    codes = watch.troubles(clock.now())
    if codes:
        return JsonResponse({"state": "trouble", "signs": codes}, status=SERVICE_UNAVAILABLE)
    return JsonResponse({"state": "well"})


@require_safe
@never_cache
def scrape(request):
    """Hand out the figures to who has the token; without one set there is no such page."""
    if not settings.METRICS_TOKEN:
        raise Http404
    given = request.headers.get("Authorization", "").encode()
    if not compare_digest(given, f"Bearer {settings.METRICS_TOKEN}".encode()):
        refused = {"WWW-Authenticate": "Bearer"}
        return HttpResponse(status=UNAUTHORIZED, headers=refused)
    at = clock.now()
    return HttpResponse(metrics.exposition(watch.signs(at), at), content_type=metrics.CONTENT_TYPE)
