"""Asks for every page of one site as its manager, and notes what its statements touch."""

from contextlib import contextmanager
from dataclasses import dataclass
from functools import cached_property
from unittest import mock

from django.db import transaction
from django.test import Client

from deploy.bench import backend
from deploy.bench.pages import recorded
from deploy.bench.pattern import AT, SLUG
from fleet.actions import bundles
from fleet.kinds import Cut
from fleet.models import Round
from lifts.models import Fitting
from shared.models import Role, Site
from tests import test_access
from tests.test_access import PAGES, address

# ask other servers, or end the walk
ELSEWHERE = {"health", "metrics", "service", "sign-out", "surveyor-link", "password-set"}
QUESTIONS = ("SELECT", "WITH")


@dataclass(frozen=True)
class Asked:
    """A statement as a page asked it: the buffers that it touched, the rows that came back."""

    page: str
    buffers: int
    rows: int


class Yard(test_access.World):
    """The pattern site, the same at any scale; what it lacks is made when it is asked for."""

    def __init__(self, site, manager):
        self.site, self.manager, self.slug = site, manager, site.slug

    @cached_property
    def round(self):
        return Round.objects.filter(site=self.site).order_by("id").first()

    @cached_property
    def cart(self):
        return self.site.carts.select_related("site").get(pk=self.round.cart_id)

    @cached_property
    def fitting(self):
        return Fitting.objects.select_related("kit").get(cart=self.cart)

    @cached_property
    def kit(self):
        return self.fitting.kit

    @cached_property
    def bundle(self):
        return bundles.ask(self.site, Cut(AT, AT), by=self.manager, at=AT)


def walked(world) -> dict[str, Asked]:
    """Return {SQL: Asked} of all pages at the present scale, each SQL by the first that asks."""
    site, found = Site.objects.get(slug=SLUG), {}
    yard = Yard(site, world.person(site, Role.MANAGER))
    client = Client(SERVER_NAME="localhost")
    with undone(), mock.patch.object(test_access, "MORNING", AT):
        client.force_login(yard.manager)
        for page in sorted(PAGES.keys() - ELSEWHERE):
            url = address(page, site.slug, yard)
            for statement, values in recorded(lambda url=url: whole(client.get(url))):
                if statement.startswith(QUESTIONS) and statement not in found:
                    plan = backend.plan(statement, values)
                    found[statement] = Asked(page, backend.buffers(plan), plan["Actual Rows"])
    return found


def whole(response):
    """Read an answer to its end: what streams asks while it is read."""
    return b"".join(response.streaming_content) if response.streaming else response.content


@contextmanager
def undone():
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
