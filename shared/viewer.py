"""Who is looking, at what moment, with which roles: made once a request."""

import logging
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property, wraps
from urllib.parse import urlsplit

from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.views import redirect_to_login
from django.db import DatabaseError
from django.http import Http404
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.utils.translation import gettext as _

from shared import actions, clock
from shared.menu import menu_for
from shared.models import Membership, Person, Role, Site, SurveyorLink

log = logging.getLogger(__name__)
# in a session that a surveyor's link began: which link
LET_IN_BY = "surveyor_link"
OK = 200


@dataclass(frozen=True)
class Viewer:
    """A person at a moment; sees the sites where a role is in force on the site's day.

    One whom a surveyor's link let in is a surveyor and nothing else, whatever roles they
    have at other sites: a manager here knows the code.
    """

    person: Person | None
    at: datetime
    by_link: bool = False

    @cached_property
    def memberships(self):
        if self.person is None or not self.person.is_active:
            return ()
        rows = Membership.objects.filter(person=self.person).select_related("site")
        if self.by_link:
            rows = rows.filter(role=Role.SURVEYOR)
        return tuple(row for row in rows if _in_force(row, row.site.day(self.at)))

    @cached_property
    def site_ids(self):
        return [row.site_id for row in self.memberships]

    def role_at(self, site):
        """Return the role at the site, None for a stranger."""
        found = [row.role for row in self.memberships if row.site_id == site.pk]
        return found[0] if found else None

    def may_release_at(self, site):
        """Whether the person may hand a tagged cart back at the site."""
        found = [row for row in self.memberships if row.site_id == site.pk]
        return any(row.releases for row in found)

    @property
    def left_hand(self):
        """Whether what the thumb needs stands on the left."""
        return self.person is not None and self.person.left_hand

    def site_called(self, slug):
        """Return the visible site of that slug, None for a stranger."""
        found = [row.site for row in self.memberships if row.site.slug == slug]
        return found[0] if found else None

    @cached_property
    def home(self) -> Site | None:
        """The person's home site if it is visible, else the first that is."""
        sites = [row.site for row in self.memberships]
        at_home = [s for s in sites if self.person and s.pk == self.person.home_site_id]
        return next(iter(at_home or sites), None)


def _in_force(row, day):
    return row.from_day <= day and (row.to_day is None or day <= row.to_day)


class ViewerMiddleware:
    """Makes the viewer; ends a session whose link was withdrawn; notes what surveyors see."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        link_id = request.session.get(LET_IN_BY)
        if link_id is not None and not SurveyorLink.objects.live().filter(pk=link_id).exists():
            logout(request)
        person = request.user if request.user.is_authenticated else None
        request.viewer = Viewer(person, clock.now(), by_link=link_id is not None)
        request.site = None
        request.role = None
        response = self.get_response(request)
        if request.role == Role.SURVEYOR and is_look(request, response):
            # a copy kept by the browser would be looked at unseen
            response["Cache-Control"] = "private, no-store"
            _note(request, response)
        return response


def is_look(request, response):
    """Whether a page was shown or a file handed out, rather than refused or led elsewhere.

    A page that looks again by itself shows how far work is, and counts when it no more does.
    """
    is_shown = request.method in ("GET", "HEAD") and response.status_code == OK
    return is_shown and "Refresh" not in response


def _note(request, response):
    """Write a look down; one that cannot be written spoils no page."""
    is_download = response.get("Content-Disposition", "").startswith("attachment")
    page, address = request.resolver_match.url_name, request.get_full_path()
    who, at = request.viewer.person, request.viewer.at
    try:
        actions.note_page(request.site, who, page, address, is_download=is_download, at=at)
    except DatabaseError:
        log.exception("A look of a surveyor could not be written down")


def allowed(*roles):
    """Let a view in for these roles at the site its address names.

    A visitor is sent to sign in; a stranger to the site, or a wrong role, gets 404.
    The view finds ``request.site`` and ``request.role``.
    """

    def wrap(view):
        @wraps(view)
        def guarded(request, *args, site, **kwargs):
            if request.viewer.person is None:
                return _to_sign_in(request)
            request.site = request.viewer.site_called(site)
            request.role = request.viewer.role_at(request.site) if request.site else None
            if request.role not in roles:
                raise Http404
            return view(request, *args, **kwargs)

        guarded.roles = roles
        return guarded

    return wrap


def _to_sign_in(request):
    """Send a visitor to sign in, and from there to the page that they had before them."""
    if request.method != "POST":
        return redirect_to_login(request.get_full_path(), reverse("sign-in"))
    said = _(
        "You are signed out, so this was not recorded. Sign in and send it again; "
        "a round that this phone kept is offered on its page."
    )
    messages.warning(request, said, fail_silently=True)
    return redirect_to_login(_sent_from(request), reverse("sign-in"))


def _sent_from(request):
    """Return the page that sent a form: many an address takes forms alone and shows nothing."""
    page = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(page, {request.get_host()}, request.is_secure()):
        return request.get_full_path()
    there = urlsplit(page)._replace(scheme="", netloc="").geturl() or "/"
    # a path that begins with two names another host
    return request.get_full_path() if there.startswith("//") else there


def page(request):
    """Context of every page: the viewer, the site and the menu of the role there."""
    viewer = getattr(request, "viewer", None)
    if viewer is None or viewer.person is None:
        return {"viewer": viewer, "menu": []}
    site = request.site or viewer.home
    role = viewer.role_at(site) if site else None
    return {
        "viewer": viewer,
        "site": site,
        "role": role,
        "menu": menu_for(role, site, request.path),
        "sites": [row.site for row in viewer.memberships],
    }
