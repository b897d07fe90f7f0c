"""Verdicts that a correction turned better after a tag, a report or more than a week."""

from datetime import timedelta
from itertools import pairwise

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from hypothesis import given
from hypothesis import strategies as st

from fleet.actions import tags
from fleet.actions.corrections import move_round, strike_round
from fleet.bundle.scope import Scope, batches
from fleet.kinds import Cut
from fleet.models import Report, Round, Tag
from fleet.softened import softened_in, softened_on
from fleet.standing import FOREVER
from fleet.verdicts import Turned, turned_better
from lifts.models import JointPart
from shared.facts import correction_of, record
from shared.models import new_id
from tests.round_factories import REAL_PARTS, a_round
from tests.round_pages import Shop

GRADES = {"inside": 0, "can't tell": 1, "outside": 2}
words = st.sampled_from([*GRADES, "31.2 km/h"])
verdicts = st.dictionaries(st.sampled_from("abcd"), words)


def test_a_better_word_is_named_with_the_one_before():
    before = {"toe": "outside", "camber left": "can't tell", "camber right": "inside"}
    after = {"toe": "inside", "camber left": "inside", "camber right": "outside"}

    assert turned_better(before, after, GRADES) == [
        Turned("toe", "outside", "inside"),
        Turned("camber left", "can't tell", "inside"),
    ]


def test_a_bad_word_that_is_left_out_turned_better():
    found = turned_better({"toe": "outside", "camber left": "inside"}, {}, GRADES)

    assert found == [Turned("toe", "outside", "")]


@given(verdicts, verdicts)
def test_nothing_turns_better_both_ways(one, other):
    there = {turned.what for turned in turned_better(one, other, GRADES)}
    back = {turned.what for turned in turned_better(other, one, GRADES)}

    assert there & back == set()
    assert turned_better(one, one, GRADES) == []


@given(verdicts, verdicts)
def test_all_that_turned_was_bad_before(before, after):
    for turned in turned_better(before, after, GRADES):
        assert GRADES[before[turned.what]] > GRADES.get(turned.after, 0)


@given(st.lists(verdicts, min_size=2, max_size=5))
def test_small_steps_hide_no_turn(told):
    turned = {
        one.what for before, after in pairwise(told) for one in turned_better(before, after, GRADES)
    }
    whole = {one.what for one in turned_better(told[0], told[-1], GRADES)}

    in_all = set.intersection(*(set(one) for one in told))
    ungraded = {name for one in told for name, word in one.items() if word not in GRADES}
    assert whole & in_all - ungraded <= turned


@pytest.fixture
def shop(monkeypatch, db):
    return Shop(monkeypatch)


def told_again(client, shop, after=timedelta(hours=1), **changes):
    shop.at += after
    row = Round.objects.latest("received_at")
    page = shop.opened(client, by=shop.manager, query=f"?corrects={row.pk}")
    assert (
        shop.sent(client, page, why_corrected="a slip", hours="412", **changes).status_code == 302
    )


def reported(shop, noticed=Report.Noticed.KERB_HIT):
    shop.later(hours=1)
    return tags.report(shop.cart, noticed, by=shop.manager, at=shop.at)


def found(shop):
    return [(one.part, *one.turned) for one in softened_on([shop.cart.pk])]


def rows_of(shop):
    scope = Scope(shop.site, Cut(shop.at, shop.at))
    return [row for batch in batches(scope) for row in softened_in(batch)]


TOOK_UP = {"left front lugs": "took up"}
SLOPE = {"brake-holds_on_slope": "no"}
CABLE = {"brake-cable_free": "no"}


def test_a_verdict_turned_after_a_report_names_the_report(client, shop):
    shop.rounds(client, hours="412", **CABLE)
    report = reported(shop)
    told_again(client, shop)

    assert found(shop) == [("brake", "cable free", "no", "yes")]
    assert [one.since for one in softened_on([shop.cart.pk])] == [report]
    assert softened_on([shop.cart.pk])[0].why == "a slip"


def test_a_verdict_turned_with_nothing_in_between_is_no_mark(client, shop):
    reported(shop)
    shop.later(hours=1)
    shop.rounds(client, hours="412", **CABLE)
    told_again(client, shop)
    reported(shop)

    assert found(shop) == []


WEEK = timedelta(days=7)


@pytest.mark.parametrize(
    ("after", "marked"), [(WEEK, []), (WEEK + timedelta(seconds=1), [("no", "yes")])]
)
def test_a_verdict_turned_more_than_a_week_later_is_marked_by_that(client, shop, after, marked):
    shop.rounds(client, hours="412", **CABLE)
    told_again(client, shop, after)

    rows = rows_of(shop)
    assert [(row["before"], row["after"]) for row in rows] == marked
    signs = {(row["came_after"], row["tag_or_report"]) for row in rows}
    assert signs <= {("more than 7 days later", None)}
    row = Round.objects.earliest("received_at")
    page = client.get(shop.url("round-detail", row.pk)).text
    assert ("more than 7 days later" in page) == bool(marked)


def test_a_took_up_told_as_firm_more_than_a_week_later_is_marked(shop):
    a_round(shop.cart, by=shop.mechanic, at=shop.at, found=TOOK_UP, parts=("joints",))
    part = JointPart.objects.get()
    looks = REAL_PARTS["joints"].lines_of([part.pk])[part.pk]
    for look in looks:
        look.pk, look.found = None, "firm"
    again = correction_of(part, reason="a slip", by=shop.manager, id=new_id())
    record(again, *looks, at=shop.at + timedelta(days=8))

    assert found(shop) == [("joints", "left front lugs", "took up", "firm")]


def test_small_steps_hide_no_week(client, shop):
    shop.rounds(client, hours="412", **CABLE)
    told_again(client, shop, timedelta(days=5), **CABLE)
    told_again(client, shop, timedelta(days=5))

    assert found(shop) == [("brake", "cable free", "no", "yes")]


def test_a_report_and_a_week_are_both_said(client, shop):
    shop.rounds(client, hours="412", **CABLE)
    reported(shop)
    told_again(client, shop, WEEK)

    assert [row["came_after"] for row in rows_of(shop)] == ["report; more than 7 days later"]


def test_a_round_that_put_its_own_tag_on_is_marked_when_it_is_softened(client, shop):
    shop.rounds(client, hours="412", **SLOPE)
    told_again(client, shop)

    assert found(shop) == [
        ("brake", "holds on slope", "no", "yes"),
        ("brake", "tag", "called for", "not called for"),
    ]
    assert softened_on([shop.cart.pk])[0].since == Tag.objects.get()


def test_a_verdict_that_stays_or_turns_worse_is_no_mark(client, shop):
    shop.rounds(client, hours="412", **CABLE)
    reported(shop)
    told_again(client, shop, **CABLE, **SLOPE)

    assert found(shop) == []


def test_a_struck_round_softens_all_that_was_bad(client, shop):
    shop.rounds(client, hours="412", **CABLE)
    reported(shop)
    who = {"reason": "never done", "by": shop.manager}
    shop.later(hours=1)
    strike_round(Round.objects.get(), **who, at=shop.at)

    assert found(shop) == [("brake", "cable free", "no", "")]


def test_moving_a_bad_round_away_softens_the_cart_it_was_on(client, shop):
    other = shop.lifted("8")
    shop.rounds(client, hours="412", **CABLE)
    reported(shop)
    shop.later(hours=1)
    move_round(Round.objects.get(), other, reason="the 8", by=shop.manager, at=shop.at)

    assert found(shop) == [("brake", "cable free", "no", "")]
    assert softened_on([other.pk]) == []


def test_told_again_twice_the_report_before_both_is_named(client, shop):
    shop.rounds(client, hours="412", **CABLE)
    reported(shop)
    told_again(client, shop, **CABLE)
    told_again(client, shop)

    assert found(shop) == [("brake", "cable free", "no", "yes")]


def test_a_camber_and_toe_sheet_is_softened_by_its_verdicts(client, shop):
    wide = {f"camber-toe-p1_rear_{n}": "36 5/16" for n in (1, 2, 3)}
    shop.rounds(client, hours="412", **wide)
    reported(shop, Report.Noticed.PULLS)
    told_again(client, shop)

    assert ("camber-toe", "toe", "outside", "inside") in found(shop)


def test_what_was_not_known_yet_is_not_softened_yet(client, shop):
    shop.rounds(client, hours="412", **CABLE)
    reported(shop)
    before = shop.at
    told_again(client, shop)

    assert softened_on([shop.cart.pk], Cut(FOREVER, before)) == []


def queries_of(shop):
    with CaptureQueriesContext(connection) as asked:
        rows = softened_on([shop.cart.pk])
    return len(rows), len(asked)


def test_the_queries_do_not_grow_with_the_corrections(client, shop):
    shop.rounds(client, hours="412", **CABLE)
    reported(shop)
    told_again(client, shop)
    first = queries_of(shop)
    shop.later(hours=1)
    shop.rounds(client, hours="412", **CABLE)
    reported(shop)
    told_again(client, shop)

    assert queries_of(shop) == (2, first[1])


def test_the_bundle_has_a_row_for_each(client, shop):
    shop.rounds(client, hours="412", **CABLE)
    report = reported(shop)
    told_again(client, shop)
    scope = Scope(shop.site, Cut(shop.at, shop.at))

    rows = rows_of(shop)

    assert [(row["cart"], row["before"], row["after"]) for row in rows] == [("7", "no", "yes")]
    assert (rows[0]["tag_or_report"], rows[0]["came_after"]) == (report.pk, "report")
    assert rows[0]["by"] == scope.name(shop.manager.pk)
