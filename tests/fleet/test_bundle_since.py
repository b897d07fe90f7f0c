"""From a day on: nothing that arrived, was taken back or stood since falls between two bundles."""

from datetime import date, timedelta

import pytest

from fleet.actions.corrections import strike_round
from fleet.actions.tags import hand_back, tag_cart
from tests.fleet.bundle_tables import tables_of
from tests.fleet.bundling import Fleet, bundled, on
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db

NOW = on(3, 30)
SINCE = {"from_day": date(2026, 3, 15)}


@pytest.fixture
def fleet():
    return Fleet("harbour")


@pytest.fixture
def cart(fleet):
    return fleet.lifted("7", on(3, 2))


def late(fleet, cart):
    """Record a round of before the day, after it."""
    done = {"opened_at": on(3, 10), "done_at": on(3, 10)}
    return a_round(cart, by=fleet.mechanic, at=on(3, 20), parts=("label",), **done).round


def shown(read):
    return {line["body"]["id"] for line in read.lines if "body" in line}


def test_round_done_before_and_written_since_is_told(fleet, cart, tmp_path):
    row = late(fleet, cart)

    read = bundled(fleet.site, tmp_path, NOW, **SINCE)

    assert [one["entry"] for one in read.rows("late_written")] == [str(row.pk)]
    assert [one["round"] for one in read.rows("rounds")] == [str(row.pk)]
    assert str(row.pk) in shown(read)


def test_round_of_before_that_was_struck_since_is_among_the_corrections(fleet, cart, tmp_path):
    row = a_round(cart, by=fleet.mechanic, at=on(3, 10), parts=("label",)).round
    kept = a_round(cart, by=fleet.mechanic, at=on(3, 11), parts=("label",)).round
    strike_round(row, reason="Other cart", by=fleet.manager, at=on(3, 20))

    read = bundled(fleet.site, tmp_path, NOW, **SINCE)

    assert str(row.pk) in {one["entry"] for one in read.rows("corrections")}
    assert str(row.pk) in shown(read) and str(kept.pk) not in shown(read)


def test_tag_of_before_that_was_on_since_is_listed_and_not_counted_as_put_on(fleet, tmp_path):
    over, back, on_still = (
        tag_cart(fleet.cart(number), "Rim bent", by=fleet.mechanic, at=on(3, 5))
        for number in (1, 2, 3)
    )
    by_whom = {"done": "New rim", "repaired_by": fleet.mechanic, "by": fleet.mechanic}
    hand_back(over, at=on(3, 14), **by_whom)
    hand_back(back, at=on(3, 16), **by_whom)

    read = bundled(fleet.site, tmp_path, NOW, **SINCE)

    assert {one["tag"] for one in read.rows("tags")} == {str(back.pk), str(on_still.pk)}
    assert [one["tag"] for one in read.rows("same_person")] == [str(back.pk)]
    assert str(over.pk) not in shown(read)
    assert read.row("figures", code="tags_opened")["value"] == "0"


def test_verdict_softened_since_about_an_earlier_tag_is_listed(fleet, cart):
    row = a_round(cart, by=fleet.mechanic, at=on(3, 5), found={"left U-bolts": "slack"}).round
    strike_round(row, reason="Other cart", by=fleet.manager, at=on(3, 20))

    found = tables_of(fleet.site, NOW, **SINCE).rows("softened")

    assert {one["entry"] for one in found} and {one["why"] for one in found} == {"Other cart"}
    later = tables_of(fleet.site, NOW, from_day=date(2026, 3, 21))
    assert later.rows("softened") == []


def test_label_stands_as_on_the_day_by_a_look_of_before(fleet, cart):
    whole, part = (tables_of(fleet.site, NOW, **asked) for asked in ({}, SINCE))

    assert whole.rows("label_coverage")[0]["looked_at"].startswith("2026-03-02")
    assert part.rows("label_coverage") == whole.rows("label_coverage")
    assert part.rows("labels") == []


def test_day_of_arrival_begins_with_the_first_moment_of_the_site(fleet, cart):
    done = {"opened_at": on(3, 10), "done_at": on(3, 10), "parts": ("label",)}
    a_round(cart, by=fleet.mechanic, at=on(3, 15, 0) - timedelta(seconds=1), **done)
    row = a_round(cart, by=fleet.mechanic, at=on(3, 15, 0), **done).round

    rows = tables_of(fleet.site, NOW, **SINCE).rows("rounds")

    assert [one["round"] for one in rows] == [str(row.pk)]
