"""A fitting gathered over an afternoon and a morning, and what its cart still lacks."""

from datetime import timedelta

import pytest
from django.urls import reverse

from fleet.actions import project
from fleet.actions.corrections import strike_round
from fleet.actions.rounds import TakenDown, save_round
from fleet.as_of import cart_at, desk_at
from fleet.desk import morning_list
from fleet.kinds import Cut, register
from fleet.models import Recheck
from fleet.visits import called_at, new_visit
from lifts.actions import fit
from lifts.kinds import CLOSE_OUT
from lifts.piece_words import PIECES
from shared import clock
from shared.models import new_id
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.round_factories import a_round, told

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
IN_THE_BAY = ("joints", "grease", "tyres", "camber-toe", "label")
ON_THE_ROAD = ("brake", "speed", "drive")
EVENING, NEXT = MORNING + 8 * HOUR, MORNING + DAY


@pytest.fixture
def fitted(cart, kit, manager):
    fit(cart, kit, by=manager, at=MORNING)
    return cart


def seen(cart, manager, at):
    """Return what the desk says of the cart, once its rows were found to be its facts'."""
    assert project.differences([cart.pk]) == []
    [line] = morning_list(Viewer(manager, at), cart.site, cart.site.day(at))
    return line.said


def save(cart, parts, *, by, at):
    taken = TakenDown(id=new_id(), opened_at=at, parts=[(part, None) for part in parts])
    return save_round(cart, taken, by=by, at=at)


def close_out(cart):
    return Recheck.objects.get(cart=cart, kind_code="fitting-close-out")


def test_a_fitting_of_two_days_closes_on_the_second(fitted, manager):
    a_round(fitted, by=manager, at=EVENING, parts=IN_THE_BAY)
    assert seen(fitted, manager, EVENING).why == (
        "on stands in the shop, not recorded: brake, stop run, speed run, test drive"
    )

    last = a_round(fitted, by=manager, at=NEXT, parts=ON_THE_ROAD).round

    assert close_out(fitted).ended_by == last.pk
    assert seen(fitted, manager, NEXT).goes


def test_a_label_found_worn_on_the_second_day_keeps_it_on_stands(fitted, manager):
    a_round(fitted, by=manager, at=EVENING, parts=IN_THE_BAY)
    worn = told("label", fitted, is_legible=False)
    rest = [told(code, fitted) for code in ON_THE_ROAD]

    save(fitted, [*rest, worn], by=manager, at=NEXT)

    assert seen(fitted, manager, NEXT).why.endswith("on stands in the shop, not recorded: label")
    save(fitted, [told("label", fitted)], by=manager, at=NEXT + HOUR)
    assert seen(fitted, manager, NEXT + HOUR).goes


def test_a_round_struck_takes_its_pieces_with_it(fitted, manager):
    first = a_round(fitted, by=manager, at=EVENING, parts=IN_THE_BAY).round
    a_round(fitted, by=manager, at=NEXT, parts=ON_THE_ROAD)

    strike_round(first, reason="the wrong cart", by=manager, at=NEXT + HOUR)

    assert close_out(fitted).ended == ""
    assert seen(fitted, manager, NEXT + HOUR).why.startswith(
        "stopped: a recheck is past its stop limit; "
        "on stands in the shop, not recorded: wheel lugs, hub nuts, steering joints, U-bolts"
    )


def test_a_sheet_that_was_driven_is_the_drive(fitted, manager):
    save(fitted, [told("camber-toe", fitted, driven=True)], by=manager, at=EVENING)

    fitted.refresh_from_db()

    assert CLOSE_OUT - set(fitted.missing) == {"camber-toe", "drive"}


@pytest.mark.parametrize(("class_code", "closes"), [(None, True), ("", False)])
def test_a_close_out_of_before_the_drive_was_asked_stays_closed(
    fitted, manager, class_code, closes
):
    bay = [told(code, fitted) for code in (*IN_THE_BAY, "brake")]
    save(fitted, [*bay, told("speed", fitted, class_code=class_code)], by=manager, at=EVENING)

    fitted.refresh_from_db()

    assert fitted.missing == ([] if closes else ["drive"])
    assert (close_out(fitted).ended == "closed") == closes


def test_a_question_of_the_past_lists_what_was_missing_then(fitted, manager):
    a_round(fitted, by=manager, at=EVENING, parts=IN_THE_BAY)
    a_round(fitted, by=manager, at=NEXT, parts=ON_THE_ROAD)
    site, then = fitted.site, Cut(EVENING, NEXT + DAY)

    assert cart_at(site, fitted.pk, then).row.missing == ["brake", "drive", "speed", "stop-run"]
    [line] = desk_at(site, then)
    assert line.said.why.endswith("not recorded: brake, stop run, speed run, test drive")
    assert cart_at(site, fitted.pk, Cut(NEXT, NEXT)).row.missing == []


def test_each_piece_of_the_close_out_has_its_words():
    assert register.kinds["fitting-close-out"].gathers
    assert set(PIECES) == CLOSE_OUT


def test_the_second_visit_must_do_only_what_the_first_left(fitted, manager):
    fitted.refresh_from_db()
    viewer = Viewer(manager, EVENING)
    first = new_visit(fitted, viewer, called_at(fitted, EVENING))
    a_round(fitted, by=manager, at=EVENING, parts=IN_THE_BAY)
    fitted.refresh_from_db()

    second = new_visit(fitted, Viewer(manager, NEXT), called_at(fitted, NEXT))

    assert set(first.first) == {*IN_THE_BAY, *ON_THE_ROAD}
    assert set(second.first) == set(ON_THE_ROAD)
    assert set(IN_THE_BAY) <= set(second.others)


def test_the_round_says_what_is_left_of_the_whole_fitting(client, fitted, manager, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NEXT)
    first = a_round(fitted, by=manager, at=EVENING, parts=IN_THE_BAY).round
    client.force_login(manager)

    page = client.get(reverse("round-detail", args=[fitted.site.slug, fitted.pk, first.pk]))

    assert "Not recorded yet: brake, stop run, speed run, test drive" in page.text


def test_work_of_one_round_says_what_that_round_did_not_do(client, fitted, manager, monkeypatch):
    at = MORNING + 2 * DAY
    monkeypatch.setattr(clock, "now", lambda: at)
    a_round(fitted, by=manager, at=EVENING)
    part = a_round(fitted, by=manager, at=at, parts=("joints", "brake")).round
    client.force_login(manager)

    page = client.get(reverse("round-detail", args=[fitted.site.slug, fitted.pk, part.pk]))

    assert "Not done in this round: Warning label" in page.text
