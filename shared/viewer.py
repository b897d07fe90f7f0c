"""Who is looking, at what moment, with which roles: made once a request."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property, wraps

from django.contrib.auth.views import redirect_to_login
from django.http import Http404
from django.urls import reverse

from shared import clock
from shared.menu import menu_for
from shared.models import Membership, Person, Site


@dataclass(frozen=True)
class Viewer:
    """A person at a moment; sees the sites where a role is in force on the site's day."""

    person: Person | None
    at: datetime

    @cached_property
    def memberships(self):
        if self.person is None or not self.person.is_active:
            return ()
        rows = Membership.objects.filter(person=self.person).select_related("site")
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
    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        person = request.user if request.user.is_authenticated else None
        request.viewer = Viewer(person, clock.now())
        request.site = None
        request.role = None
        return self.get_response(request)


def allowed(*roles):
    """Let a view in for these roles at the site its address names.

    A visitor is sent to sign in; a stranger to the site, or a wrong role, gets 404.
    The view finds ``request.site`` and ``request.role``.
    """

    def wrap(view):
        @wraps(view)
        def guarded(request, *args, site, **kwargs):
            if request.viewer.person is None:
                return redirect_to_login(request.get_full_path(), reverse("sign-in"))
            request.site = request.viewer.site_called(site)
            request.role = request.viewer.role_at(request.site) if request.site else None
            if request.role not in roles:
                raise Http404
            return view(request, *args, **kwargs)

        guarded.roles = roles
        return guarded

    return wrap


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
