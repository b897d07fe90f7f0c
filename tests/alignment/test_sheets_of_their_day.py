"""A sheet told late, or told again, is held to what was in force on the day it was measured."""

from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from alignment.models import CamberToeSheet
from fleet.actions import meters, tags
from fleet.models import Round
from tests.alignment_factories import SLEEVE_TURNED, mm
from tests.round_pages import SHEET, Shop
from tests.spec_factories import SLEEVE, a_spec

pytestmark = pytest.mark.django_db
NEW_MM = mm("1/16")


@pytest.fixture
def shop(monkeypatch):
    shop = Shop(monkeypatch)
    shop.later(days=1)
    return shop


def sent(client, shop, page, **said):
    sheet = {f"camber-toe-{name}": text for name, text in SHEET.items()}
    data = {"visit": page.visit.token, "cautions": "on", **sheet, **said}
    answer = client.post(shop.url("round-create"), data)
    assert answer.status_code == 302, list(answer.context["mistakes"])


def measured(client, shop, **said):
    page = shop.opened(client, by=shop.manager, query="?whole")
    undone = {f"{step.part.code}-not_done": "on" for step in page.steps}
    sent(client, shop, page, **undone | {"camber-toe-not_done": ""} | said)
    return standing(shop)


def measured_again(client, shop, **said):
    row = Round.objects.latest("received_at")
    page = shop.opened(client, by=shop.manager, query=f"?corrects={row.pk}")
    sent(client, shop, page, why_corrected="a slip", **said)
    return standing(shop)


def standing(shop):
    return CamberToeSheet.objects.standing(shop.at).get()


def tell_new_limits(shop):
    who = {"by": shop.manager, "at": shop.at}
    return a_spec(shop.site, kit_code=shop.kit.code, toe_low_mm=NEW_MM, **who)


def run(shop, hours):
    meters.add_reading(shop.cart, hours=Decimal(hours), by=shop.manager, at=shop.at)


def local(at):
    return at.astimezone(ZoneInfo("America/New_York")).strftime("%Y-%m-%dT%H:%M")


def test_limits_told_since_do_not_judge_a_sheet_told_late(client, shop):
    measured_at = shop.at
    shop.later(days=2)
    tell_new_limits(shop)
    shop.later(hours=1)

    sheet = measured(client, shop, done_at=local(measured_at))

    assert (sheet.toe_low_mm, sheet.spec) == (mm("1/8"), None)


def test_limits_told_since_do_not_judge_a_sheet_told_again(client, shop):
    measured(client, shop)
    shop.later(days=2)
    spec = tell_new_limits(shop)
    shop.later(hours=1)

    again = measured_again(client, shop, **{"camber-toe-note": "the left wheel first"})

    assert (again.toe_low_mm, again.spec) == (mm("1/8"), None)
    shop.later(hours=1)
    moved = measured_again(client, shop, done_at=local(shop.at))
    assert (moved.toe_low_mm, moved.spec) == (NEW_MM, spec.pk)


def test_use_since_does_not_settle_a_sheet_told_again(client, shop):
    run(shop, 413)
    shop.later(hours=1)
    before = measured(client, shop)
    shop.later(days=2)
    run(shop, 440)
    shop.later(hours=1)

    again = measured_again(client, shop, **{"camber-toe-note": "the left wheel first"})

    assert (before.use_hours, before.is_settled) == (1, False)
    assert (again.use_hours, again.is_settled) == (1, False)


def test_a_sheet_told_again_still_follows_its_kerb_hit(client, shop):
    tags.report(shop.cart, "kerb hit", by=shop.manager, at=shop.at)
    shop.later(hours=1)
    measured(client, shop)
    shop.later(days=1)

    row = Round.objects.latest("received_at")
    page = shop.opened(client, by=shop.manager, query=f"?corrects={row.pk}")

    form = next(step.form for step in page.steps if step.part.code == "camber-toe")
    assert form["after_kerb_hit"].initial is True


def test_a_sheet_told_again_teaches_itself_nothing(client, shop):
    a_spec(shop.site, kit_code=shop.kit.code, by=shop.manager, at=shop.at, **SLEEVE)
    shop.later(hours=1)
    turned = {f"camber-toe-{name}": text for name, text in SLEEVE_TURNED.items()}
    steep = {"camber-toe-p1_left_top_1": "5/8", "camber-toe-p2_left_turn": "15"}
    before = measured(client, shop, **turned | steep)
    shop.later(hours=1)

    again = measured_again(client, shop, **turned | steep | {"camber-toe-note": "left first"})

    told = [sheet.turns.get().predicted_deg for sheet in (before, again)]
    assert told[0] == told[1]
