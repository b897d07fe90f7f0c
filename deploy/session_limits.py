"""How long a session lasts: idle and in all.

Twelve hours idle is one shift, so that a mechanic signs in once a day and a tablet left in
the barn overnight is signed out; seven days in all, so that a copied cookie ends within a
week. Half an hour idle, as offices have it, would cost a manager what they were typing
after each walk to the barn. (OWASP ASVS 5.0, 7.3.1 and 7.3.2, asks for both to be set.)
"""

import logging
from time import time

from django.contrib.auth import logout
from django.contrib.sessions.backends.base import UpdateError
from django.db import DatabaseError

log = logging.getLogger(__name__)

IDLE_S = 12 * 60 * 60
IN_ALL_S = 7 * 24 * 60 * 60
# a session is written at most this often only because it was used
NOTED_EVERY_S = 5 * 60
SIGNED_IN, USED = "signed_in_s", "used_s"


def stamp(request, **kwargs):
    """Note when the session began; Django calls it at each sign-in."""
    request.session[SIGNED_IN] = request.session[USED] = int(time())


def is_over(session, at_s: float) -> bool:
    """Say whether a session has lasted too long."""
    return at_s - session[SIGNED_IN] > IN_ALL_S or at_s - session[USED] > IDLE_S


class SessionLimitsMiddleware:
    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if request.user.is_authenticated:
            keep_or_end(request, time())
        return self.get_response(request)


def keep_or_end(request, at_s: float) -> None:
    """Sign out whose session is over; note now and then that it is used.

    One that a release without stamps began is counted from now: nobody is signed out by an
    upgrade in the middle of a round.
    """
    if SIGNED_IN not in request.session:
        stamp(request)
        save(request.session)
    elif is_over(request.session, at_s):
        logout(request)
    elif at_s - request.session[USED] > NOTED_EVERY_S:
        request.session[USED] = int(at_s)
        save(request.session)


def save(session) -> None:
    """Write a session now: a page that only reads is shown where nothing can be written."""
    try:
        session.save()
    except (DatabaseError, UpdateError) as trouble:
        # Django says of a write that failed that the session is gone
        log.warning("it could not be noted that a session is used: %s", type(trouble).__name__)
    session.modified = False
