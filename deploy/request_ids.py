"""Gives each request an id, and writes the one line that says what became of it."""

import logging
import re
import time
from uuid import uuid4

from django.conf import settings

from deploy.logs import request_id, route_of
from deploy.proxies import is_believed

log = logging.getLogger("access")

HEADER = "X-Request-Id"
# what proxies make: nothing that could forge a line
LOOKS_LIKE_ONE = re.compile(r"[A-Za-z0-9_-]{8,64}")


class RequestIdMiddleware:
    """Stands first, before a proxy's word on who asks takes the place of the proxy's address."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        began_s = time.monotonic()
        named = request.named = id_of(request)
        token = request_id.set(named)
        try:
            response = self.get_response(request)
            response[HEADER] = named
            if not request.path.startswith(settings.STATIC_URL):
                note(request, response.status_code, time.monotonic() - began_s)
        finally:
            request_id.reset(token)
        return response


def id_of(request) -> str:
    """Return the id that a believed proxy gave, else a new one."""
    given = request.headers.get(HEADER, "")
    if LOOKS_LIKE_ONE.fullmatch(given) and is_believed(request.META["REMOTE_ADDR"]):
        return given
    return uuid4().hex


def note(request, status, took_s):
    person = getattr(getattr(request, "viewer", None), "person", None)
    site = getattr(request, "site", None)
    access = {
        "method": request.method,
        "route": route_of(request),
        "status": status,
        "ms": round(took_s * 1000),
        "person": str(person.pk) if person else "-",
        "site": site.slug if site else "-",
    }
    said = "%(method)s %(route)s %(status)s %(ms)s ms person %(person)s site %(site)s"
    log.info(said, access, extra={"access": access})
