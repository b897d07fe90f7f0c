"""Surveyors for tests: a role with an end, a link and a code, and the way in."""

from datetime import timedelta

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.urls import reverse

from fleet.actions import sites
from fleet.models import Bundle
from shared import clock
from shared.actions import make_link
from shared.models import Role, SurveyorLink
from tests.factories import PersonFactory

DAY = timedelta(days=1)


def surveys(site, manager, person=None, *, first=-1, last=30):
    """Give somebody the role of a surveyor between two days, counted from today."""
    person = person or PersonFactory(name="Ansel Survey", email="ansel@insurer.example")
    if person.has_usable_password():
        person.set_unusable_password()
        person.save()
    today, at = site.day(clock.now()), clock.now()
    days = (today + first * DAY, today + last * DAY)
    sites.give_role(site, person, Role.SURVEYOR, *days, by=manager, at=at)
    return person


def link_for(person, by):
    """Make a link in place of any before; return its token and its code."""
    return make_link(person, after=SurveyorLink.objects.newest_of(person), by=by, at=clock.now())


def open_link(client, token):
    return client.get(reverse("surveyor-link", args=[token]), follow=True)


def type_code(client, code, **more):
    return client.post(reverse("surveyor-code"), {"code": code}, **more)


def come_in(client, token, code):
    """Go the whole way in; return the page where it ends."""
    open_link(client, token)
    return client.post(reverse("surveyor-code"), {"code": code}, follow=True)


def a_bundle(site, by, at, state=Bundle.State.DONE):
    """A bundle's row, with any file in place of a whole bundle."""
    file = default_storage.save(f"bundles/{at:%H}.zip", ContentFile(b"a bundle"))
    about = {"site": site, "asked_by": by, "asked_at": at, "happened_by": at, "known_by": at}
    return Bundle.objects.create(**about, state=state, file=file, ended_at=at)
