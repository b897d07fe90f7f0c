"""The pages of lifts, by role and site."""

from datetime import timedelta

import pytest
from django.urls import reverse

from lifts.actions import fit
from lifts.models import Fitting
from shared import clock
from shared.models import Role
from tests.factories import MORNING
from tests.lift_factories import a_site, with_role

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=30)
READERS = {Role.MANAGER, Role.MECHANIC, Role.SURVEYOR}
WORKERS = {Role.MANAGER, Role.MECHANIC}


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


def addresses(site, kit, cart):
    fitting = Fitting.objects.filter(cart=cart).first()
    return {
        "kit-list": (reverse("kit-list", args=[site.slug]), READERS),
        "kit-detail": (reverse("kit-detail", args=[site.slug, kit.pk]), READERS),
        "kit-create": (reverse("kit-create", args=[site.slug]), {Role.MANAGER}),
        "kit-replace": (reverse("kit-replace", args=[site.slug, kit.pk]), {Role.MANAGER}),
        "fitting-create": (reverse("fitting-create", args=[site.slug, cart.pk]), WORKERS),
        "fitting-remove": (
            reverse("fitting-remove", args=[site.slug, cart.pk, fitting.pk]),
            WORKERS,
        ),
        "wheel-off-create": (reverse("wheel-off-create", args=[site.slug, cart.pk]), WORKERS),
    }


PAGES = [
    "kit-list",
    "kit-detail",
    "kit-create",
    "kit-replace",
    "fitting-create",
    "fitting-remove",
    "wheel-off-create",
]


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("role", Role.values)
def test_a_page_is_for_its_roles_at_its_own_site(client, site, manager, kit, cart, role, name):
    fit(cart, kit, by=manager, at=MORNING)
    other, _its_manager = a_site("hills")
    person = with_role(site, manager, role)
    url, roles = addresses(site, kit, cart)[name]
    client.force_login(person)

    own = client.get(url)
    elsewhere = client.get(url.replace(f"/{site.slug}/", f"/{other.slug}/", 1))

    assert own.status_code == (200 if role in roles else 404)
    assert elsewhere.status_code == 404


@pytest.mark.parametrize("name", PAGES)
def test_a_page_sends_a_visitor_to_sign_in(client, site, manager, kit, cart, name):
    fit(cart, kit, by=manager, at=MORNING)
    url, _roles = addresses(site, kit, cart)[name]

    assert client.get(url).url.startswith(reverse("sign-in"))


@pytest.mark.parametrize("name", PAGES)
def test_a_page_shows_nothing_of_another_site(client, site, manager, kit, cart, name):
    """A manager of another site, by his own site's address and our ids."""
    fit(cart, kit, by=manager, at=MORNING)
    other, stranger = a_site("hills")
    client.force_login(stranger)
    url, _roles = addresses(site, kit, cart)[name]

    answer = client.get(url.replace(f"/{site.slug}/", f"/{other.slug}/", 1))

    if name in ("kit-list", "kit-create"):
        assert kit.name not in answer.content.decode()
    else:
        assert answer.status_code == 404
