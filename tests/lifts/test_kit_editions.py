"""The carts whose lift is on record under an earlier edition of its kit."""

from datetime import timedelta

import pytest

from fleet.actions import register
from lifts.actions import correct_fitting, fit, remove_lift, replace_kit
from lifts.kit_editions import behind_the_edition
from shared import clock
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, kit_value

pytestmark = pytest.mark.django_db
NOW = MORNING + timedelta(days=30)


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


def test_a_new_edition_names_the_carts_that_bear_the_one_before(client, site, manager, kit):
    carts = [a_cart(site, manager, number) for number in ("7", "8", "9", "10", "11")]
    fittings = [fit(cart, kit, by=manager, at=MORNING) for cart in carts]
    edition = replace_kit(kit, kit_value(edition="edition 2"), by=manager, at=NOW)
    correct_fitting(fittings[1], edition, (), reason="newer sheet", by=manager, at=NOW)
    remove_lift(fittings[2], "sold", by=manager, at=NOW)
    register.leave(carts[3], by=manager, at=NOW)
    fit(carts[4], a_kit(site, manager, code="other"), by=manager, at=NOW)
    client.force_login(manager)

    page, before = (client.get(one.get_absolute_url()) for one in (edition, kit))

    assert [cart.number for cart in page.context["behind"]] == ["7"]
    assert "These carts bear an earlier edition" in page.content.decode()
    assert "These carts bear an earlier edition" not in before.content.decode()


def test_carts_behind_an_edition_are_found_past_those_that_are_not(site, manager, kit):
    carts = [a_cart(site, manager, f"{number:02}") for number in range(5)]
    fittings = [fit(cart, kit, by=manager, at=MORNING) for cart in carts]
    edition = replace_kit(kit, kit_value(edition="edition 2"), by=manager, at=NOW)
    for fitting in fittings[:2]:
        correct_fitting(fitting, edition, (), reason="newer sheet", by=manager, at=NOW)
    remove_lift(fittings[2], "sold", by=manager, at=NOW)

    assert behind_the_edition(edition, NOW, most=1) == [carts[3]]
    assert behind_the_edition(edition, NOW) == carts[3:]
