"""Meters and times of a round: doubted, answered, given back-dated."""

from datetime import UTC, datetime

import pytest

from fleet.models import Reading, Round
from tests.round_pages import Shop

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop(monkeypatch):
    shop = Shop(monkeypatch)
    shop.later(days=2)
    return shop


def asked(response):
    found = response.context["form"]
    return dict(found.questions), [value for value, _ in found.fields["hours_why"].choices]


def test_a_lower_figure_asks_one_question_and_keeps_all_that_was_typed(client, shop):
    response = shop.rounds(client, hours="402.0", note="brake rod nipped")

    assert asked(response) == (
        {"hours": "402 h is less than the 412.0 h read last. Why?"},
        ["slip", "changed", "rolled", "earlier wrong", "other cart"],
    )
    assert response.context["form"]["note"].value() == "brake rod nipped"
    assert b'value="402.0"' in response.content
    assert Round.objects.count() == 0


def test_a_figure_of_another_unit_is_asked_about_to_what_a_meter_shows(client, shop):
    asks, _answers = asked(shop.rounds(client, distance="1500 km"))

    assert asks["distance"].startswith("932.06 mi is less than the ")


@pytest.mark.parametrize(
    ("why", "doubted", "rolled"), [("changed", "meter changed", False), ("rolled", "", True)]
)
def test_an_answer_is_kept_with_the_reading(client, shop, why, doubted, rolled):
    response = shop.rounds(client, hours="4.2", hours_why=why)

    assert response.status_code == 302
    reading = Reading.objects.get()
    assert (reading.doubted, reading.hours_rolled) == (doubted, rolled)


def test_a_slip_must_be_typed_again_and_a_right_figure_ends_the_question(client, shop):
    page = shop.opened(client)
    again = shop.sent(client, page, hours="402.0", hours_why="slip")

    mended = shop.sent(client, page, hours="421.0", hours_why="slip")

    assert again.context["form"].errors["hours"] == ["Type the figure that the meter shows."]
    assert mended.status_code == 302
    assert Reading.objects.get().doubted == ""


def test_another_cart_saves_nothing_here(client, shop):
    response = shop.rounds(client, hours="402.0", hours_why="other cart")

    said = "Nothing was saved at cart 7. Open the right one; this page stays as it is."
    assert response.context["form"].errors["hours_why"] == [said]
    assert Round.objects.count() == 0


def test_where_the_figure_before_was_wrong_the_round_is_saved_without_this_one(client, shop):
    response = shop.rounds(client, hours="40.0", hours_why="earlier wrong")
    said = "Leave this meter empty and save: a manager takes the wrong figure back"
    assert said in response.content.decode()

    saved = shop.rounds(client, hours="")

    assert saved.status_code == 302


def test_more_hours_than_the_time_allows_cannot_be_right_as_typed(client, shop):
    response = shop.rounds(client, hours="502.0", hours_why="right")

    assert response.status_code == 200
    assert asked(response)[1] == ["slip", "changed", "earlier wrong", "other cart"]


def test_a_doubted_answer_sent_again_is_the_same_round(client, shop):
    page = shop.opened(client)
    first = shop.sent(client, page, hours="402.0", hours_why="changed")
    shop.later(hours=30)

    again = shop.sent(client, page, hours="402.0", hours_why="changed")

    assert again["Location"] == first["Location"]
    assert Round.objects.count() == 1


def test_distance_may_be_typed_in_another_unit(client, shop):
    shop.rounds(client, distance="2993.378 km")

    assert round(Reading.objects.get().distance_shown, 1) == 1860


def test_work_done_the_day_before_yesterday_is_marked_as_written_late(client, shop):
    response = shop.rounds(client, hours="412.5", done_at="2026-03-02T17:00")

    row = Round.objects.get()
    assert row.done_at == datetime(2026, 3, 2, 22, 0, tzinfo=UTC)
    assert client.get(response["Location"]).context["result"].written_late


@pytest.mark.parametrize(
    ("done_at", "said"),
    [
        ("2026-03-02T07:00", "That is before the cart came, or before its lift was fitted."),
        ("2026-03-04T09:00", "That is still to come."),
        ("last Monday", "Write the day and time as 2026-03-02T14:30."),
        ("9999-12-31T23:59", "Write the day and time as 2026-03-02T14:30."),
        ("2026-03-03T08:00+05:00", "Write the day and time as 2026-03-02T14:30."),
    ],
)
def test_a_time_that_cannot_be_is_refused(client, shop, done_at, said):
    response = shop.rounds(client, hours="412.5", done_at=done_at)

    assert response.context["form"].errors["done_at"] == [said]
    assert Round.objects.count() == 0


def test_the_hour_that_comes_twice_is_asked_and_shown_with_its_offset(client, shop):
    shop.at = datetime(2026, 11, 1, 18, 0, tzinfo=UTC)
    page = shop.opened(client)
    unclear = shop.sent(client, page, done_at="2026-11-01T01:30")

    saved = shop.sent(client, page, done_at="2026-11-01T01:30", done_which="second")

    labels = [label for _, label in unclear.context["form"].fields["done_which"].choices]
    assert labels == ["the first, UTC-04:00", "the second, UTC-05:00"]
    assert Round.objects.get().done_at == datetime(2026, 11, 1, 6, 30, tzinfo=UTC)
    assert b"11/01/2026 01:30 (UTC-05:00)" in client.get(saved["Location"]).content


def test_a_time_that_the_clocks_skip_is_refused(client, shop):
    shop.at = datetime(2026, 3, 9, 18, 0, tzinfo=UTC)

    response = shop.rounds(client, done_at="2026-03-08T02:30")

    said = "The clocks went forward then: there was no such time."
    assert response.context["form"].errors["done_at"] == [said]


def test_cautions_are_pressed_once_a_shift(client, shop):
    page = shop.opened(client)
    unseen = shop.sent(client, page, cautions=None)
    shop.sent(client, page)
    shop.later(hours=11)
    same_shift = shop.opened(client, query="?whole").form.cautions_seen
    shop.later(hours=2)

    assert list(unseen.context["form"].errors) == ["cautions"]
    assert same_shift
    assert not shop.opened(client).form.cautions_seen
