"""What lifts draw on the pages of others: the cart's page and the round."""

import re
from datetime import timedelta

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.html import conditional_escape

from fleet.kinds import register
from lifts.actions import fit
from lifts.models import Fitting
from shared import clock
from shared.models import Role
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.lift_factories import with_role
from tests.lifts.visiting import a_visit

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=30)


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.mark.parametrize(
    "code", ["joints", "grease", "tyres", "hub-play", "brake", "label", "speed"]
)
def test_each_part_of_a_round_can_be_drawn_empty_and_with_errors(cart, kit, manager, code):
    fit(cart, kit, by=manager, at=MORNING)
    part, visit = register.parts[code], a_visit(cart, NOW)

    for form in (part.form(visit), part.form(visit, {})):
        page = render_to_string(part.template, {"form": form, "part": part})
        assert all(caution in page for caution in map(conditional_escape, part.cautions))
        assert "not_done" in page
        # the browser would ask for what "not done" leaves out
        assert not re.search(r"<(input|select|textarea)[^>]* required", page)
        assert page.count("errorlist") == len(form.errors)


def test_the_block_on_a_carts_page_tells_its_lifts(client, site, manager, kit, cart):
    fit(cart, kit, by=manager, at=MORNING, firm="Own shop")
    [block] = [one for one in register.blocks if one.__module__ == "lifts.chapters"]

    template, context = block(cart, Viewer(manager, NOW))

    page = render_to_string(template, context)
    assert "Trial kit, edition 1" in page
    assert reverse("fitting-remove", args=[site.slug, cart.pk, Fitting.objects.get().pk]) in page


def test_the_block_offers_a_surveyor_nothing_to_write(site, manager, kit, cart):
    fit(cart, kit, by=manager, at=MORNING)
    surveyor = with_role(site, manager, Role.SURVEYOR)
    [block] = [one for one in register.blocks if one.__module__ == "lifts.chapters"]

    template, context = block(cart, Viewer(surveyor, NOW))

    assert "/fit/" not in render_to_string(template, context)


def test_the_block_of_a_cart_never_lifted_says_so(manager, cart):
    [block] = [one for one in register.blocks if one.__module__ == "lifts.chapters"]

    template, context = block(cart, Viewer(manager, NOW))

    assert "No lift on record." in render_to_string(template, context)
