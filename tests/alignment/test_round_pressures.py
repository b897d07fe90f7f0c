"""Tyre pressures told with the tyres of a round count for its camber and toe sheet."""

import pytest

from alignment.models import CamberToeSheet
from alignment.outcomes import outcome_of
from alignment.words import PRESSURES_NOT_READ
from tests.round_pages import Shop

pytestmark = pytest.mark.django_db
OWN = ("camber-toe-pressure_set", "camber-toe-pressure_left", "camber-toe-pressure_right")
NONE_OF_ITS_OWN = dict.fromkeys(OWN)
LEFT, RIGHT = "left_front", "right_front"


@pytest.fixture
def shop(monkeypatch):
    return Shop(monkeypatch)


def sheet_of_round(shop, client, **changes):
    answer = shop.rounds(client, **changes)
    assert answer.status_code == 302
    return CamberToeSheet.objects.get()


def pressures(sheet):
    return sheet.pressure_left_typed, sheet.pressure_right_typed, sheet.pressures_equal


def is_missed(sheet):
    return str(PRESSURES_NOT_READ) in [hold.reason for hold in outcome_of(sheet, []).holds]


def test_as_set_else_as_found_is_copied_into_the_sheet(shop, client):
    told = {f"tyres-found-{LEFT}": "14", f"tyres-set-{LEFT}": "20", f"tyres-found-{RIGHT}": "20.5"}

    sheet = sheet_of_round(shop, client, **NONE_OF_ITS_OWN, **told)

    assert (pressures(sheet), is_missed(sheet)) == (("20 psi", "20.5 psi", True), False)
    # 20 psi by NIST SP 811: 6.894757 kPa each
    assert (str(sheet.pressure_left_kpa), sheet.pressure_set_kpa) == ("137.895", None)


def test_tyres_found_unlike_are_unlike_for_the_sheet_too(shop, client):
    told = {f"tyres-found-{LEFT}": "14", f"tyres-found-{RIGHT}": "20"}

    sheet = sheet_of_round(shop, client, **NONE_OF_ITS_OWN, **told)

    assert (pressures(sheet), is_missed(sheet)) == (("14 psi", "20 psi", False), False)


def test_what_the_sheet_itself_says_counts_alone(shop, client):
    told = {f"tyres-found-{LEFT}": "14", f"tyres-found-{RIGHT}": "14"}

    sheet = sheet_of_round(shop, client, **told)

    assert pressures(sheet) == ("20 psi", "20 psi", True)


@pytest.mark.parametrize(
    "told",
    [
        {},
        {f"tyres-found-{LEFT}": "0", f"tyres-found-{RIGHT}": "0"},
        {f"tyres-found-{LEFT}": "20", f"tyres-found-{RIGHT}": "20", "tyres-not_done": "on"},
        {f"tyres-found-{LEFT}": "20", f"tyres-found-{RIGHT}": "20", "stay-tyres-stays": "kept"},
    ],
)
def test_flat_tyres_and_those_not_told_here_tell_it_nothing(shop, client, told):
    sheet = sheet_of_round(shop, client, **NONE_OF_ITS_OWN, **told)

    assert (pressures(sheet), is_missed(sheet)) == (("", "", False), True)


def test_the_sheet_says_what_it_took_over_when_it_is_asked(shop, client):
    page = shop.opened(client)
    told = {f"tyres-found-{LEFT}": "20", f"tyres-found-{RIGHT}": "21"}

    answer = shop.sent(client, page, ask="camber-toe:look", **NONE_OF_ITS_OWN, **told)

    assert "Taken from the tyres of this round: right 21 psi." in answer.content.decode()
