"""Grease round after round: what is remembered, what holds, what is followed up."""

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.actions.rounds import TakenDown, save_round
from fleet.kinds import register
from fleet.models import Cart
from lifts.actions import fit
from lifts.models import GreasePart, GreasePoint, GreaseStroke
from lifts.parts.grease import Grease
from shared.models import new_id
from tests.factories import MORNING
from tests.lifts.visiting import a_visit
from tests.round_factories import EVERY_PART, a_round

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
ANOTHER = "another lubricant than before: purge every point until clean grease shows"
LITHIUM = {"grease-lubricant": "NLGI 2, GC-LB", "grease-thickener": "lithium"}
POLYUREA = {"grease-thickener": "polyurea"}
ALL = {"grease-all_greased": "on"}


@pytest.fixture
def lifted(cart, kit, manager):
    """A cart whose close-out is done, and which is greased since."""
    fit(cart, kit, by=manager, at=MORNING)
    cart = Cart.objects.get(pk=cart.pk)
    a_round(cart, by=manager, at=MORNING + DAY, parts=EVERY_PART)
    return cart


def form_at(cart, day, sent, **visit):
    return register.parts["grease"].form(a_visit(cart, MORNING + day * DAY, **visit), sent)


def greased(cart, by, day, sent, **visit):
    """Save a round that tells the grease part alone; return its fact and outcome."""
    form = form_at(cart, day, sent, **visit)
    assert form.is_valid(), form.errors
    at = MORNING + day * DAY
    taken = TakenDown(id=new_id(), opened_at=at, parts=[(Grease(), form)])
    save_round(cart, taken, by=by, at=at)
    fact = GreasePart.objects.latest("done_at")
    return fact, Grease().outcome(fact, list(fact.lines.order_by("place")))


def point(name):
    return GreasePoint.objects.get(name=name)


def of(name, **said):
    return {f"grease-{field}-{point(name).pk}": value for field, value in said.items()}


def reasons(outcome):
    return list(dict.fromkeys(hold.reason for hold in outcome.holds))


def active(cart, kind):
    return cart.rechecks.active().filter(kind_code=kind)


def test_weight_is_the_kits_unless_said_otherwise(lifted, manager):
    sent = ALL | of("left king pin", weight="on") | of("right king pin", found="not reached")

    fact, _outcome = greased(lifted, manager, 2, sent)

    assert [line.weight_on for line in fact.lines.order_by("place")] == [True, None]
    fact, _outcome = greased(lifted, manager, 3, ALL)
    assert [line.weight_on for line in fact.lines.order_by("place")] == [False, False]


def test_a_blocked_point_holds_and_is_followed_up_within_seven_days(lifted, manager):
    sent = ALL | of("left king pin", found="blocked")

    _fact, outcome = greased(lifted, manager, 2, sent)

    assert outcome.pieces == {"grease:right king pin"}
    assert {hold.piece for hold in outcome.holds} == {"grease", "grease:left king pin"}
    again = active(lifted, "grease-point").get()
    assert (again.subject, again.due_on) == ("left king pin", (MORNING + 9 * DAY).date())


def test_a_visit_for_one_point_asks_for_it_alone_and_closes_it_alone(lifted, manager):
    greased(lifted, manager, 2, ALL | of("left king pin", found="blocked"))
    alone = {"pieces": {"grease:left king pin"}}

    form = form_at(lifted, 3, None, **alone)
    _fact, outcome = greased(lifted, manager, 3, ALL, **alone)

    assert ([one.name for one in form.points], form.is_whole) == (["left king pin"], False)
    assert (outcome.pieces, outcome.holds) == ({"grease:left king pin"}, ())
    assert not active(lifted, "grease-point").exists()


def test_a_visit_for_one_point_holds_that_point_alone(lifted, manager):
    alone = {"pieces": {"grease:left king pin"}}

    _fact, outcome = greased(lifted, manager, 2, of("left king pin", found="blocked"), **alone)

    assert {hold.piece for hold in outcome.holds} == {"grease:left king pin"}


def test_the_grease_round_closes_what_is_to_follow_up_too(lifted, manager):
    greased(lifted, manager, 2, ALL | of("left king pin", found="blocked"))

    greased(lifted, manager, 3, ALL)

    assert not active(lifted, "grease-point").exists()


@pytest.mark.parametrize(("look", "days"), [("milky", 2), ("gritty", 2), ("dark", 182)])
def test_water_or_grit_in_the_old_grease_calls_for_the_hubs_within_two_days(
    lifted, manager, look, days
):
    before = active(lifted, "hub-play").count()

    _fact, outcome = greased(lifted, manager, 2, ALL | of("left king pin", old=look))

    assert outcome.holds == ()
    assert active(lifted, "hub-play").count() - before == (days == 2)
    if days == 2:
        due = active(lifted, "hub-play").get(rule_code="water-in-grease").due_on
        assert due == (MORNING + 4 * DAY).date()


def test_what_was_pumped_in_is_remembered(lifted, manager):
    greased(lifted, manager, 2, ALL | LITHIUM | {"grease-grams_a_stroke": "1.20"})

    form = form_at(lifted, 3, None)

    initial = {name: form.fields[name].initial for name in ("lubricant", "thickener")}
    assert initial == {"lubricant": "NLGI 2, GC-LB", "thickener": "lithium"}
    assert form.fields["grams_a_stroke"].initial == "1.2"


def test_another_lubricant_holds_until_clean_grease_shows_at_every_point(lifted, manager):
    _fact, first = greased(lifted, manager, 2, ALL | LITHIUM)
    half = ALL | POLYUREA | of("left king pin", clean="on")

    _fact, mixed = greased(lifted, manager, 3, half)
    _fact, still = greased(lifted, manager, 4, ALL | POLYUREA)
    fact, purged = greased(lifted, manager, 5, POLYUREA | {"grease-all_clean": "on"})
    _fact, after = greased(lifted, manager, 6, ALL | POLYUREA)

    assert (first.holds, purged.holds, after.holds) == ((), (), ())
    assert reasons(mixed) == reasons(still) == [ANOTHER]
    assert mixed.pieces == {"grease:left king pin"}
    assert "grease" in purged.pieces
    assert [line.strokes for line in fact.lines.all()] == [None, None]


def test_a_point_purged_alone_does_not_change_what_is_in_the_others(lifted, manager):
    greased(lifted, manager, 2, ALL | LITHIUM)
    alone = {"pieces": {"grease:left king pin"}}
    greased(lifted, manager, 3, POLYUREA | {"grease-all_clean": "on"}, **alone)

    _fact, outcome = greased(lifted, manager, 4, ALL | POLYUREA)

    assert reasons(outcome) == [ANOTHER]


def test_a_lubricant_not_named_keeps_what_was_there(lifted, manager):
    greased(lifted, manager, 2, ALL | LITHIUM)
    greased(lifted, manager, 3, ALL)

    _fact, outcome = greased(lifted, manager, 4, ALL | POLYUREA)

    assert reasons(outcome) == [ANOTHER]


def test_a_round_told_again_remembers_what_came_before_it(lifted, manager):
    greased(lifted, manager, 2, ALL | LITHIUM)
    fact, _outcome = greased(lifted, manager, 3, ALL | POLYUREA)

    form = form_at(lifted, 4, None, corrects=fact.round_id)

    assert (form.thickener_before, form.fields["thickener"].initial) == ("lithium", "lithium")


def stroke(name, **changes):
    return GreaseStroke(
        **({"name": name, "found": "greased", "strokes": 4, "fittings": 4} | changes)
    )


def test_strokes_are_told_in_grams():
    fact = GreasePart(grams_a_stroke=Decimal("1.20"), is_whole=True)
    rows = list(Grease().said(fact, [stroke("left", weight_on=False), stroke("right")]))

    assert rows == [
        ("left", "greased", "strokes 4; at fittings 4; weight off"),
        ("right", "greased", "strokes 4; at fittings 4"),
        ("grease pumped in", "38 g", "1.2 g a stroke"),
    ]


def test_points_without_strokes_counted_make_it_at_least_so_much():
    fact = GreasePart(grams_a_stroke=Decimal("1.20"), is_whole=True)
    lines = [stroke("left"), stroke("right", strokes=None, clean_seen=True)]

    assert list(Grease().said(fact, lines))[-1] == (
        "grease pumped in",
        "at least 19 g",
        "1.2 g a stroke; 1 of 2 points without strokes counted",
    )


def test_another_thickener_is_told_beside_the_one_before():
    fact = GreasePart(lubricant="NLGI 2", thickener="polyurea", thickener_before="lithium")

    assert next(iter(Grease().said(fact, []))) == (
        "lubricant",
        "NLGI 2",
        "thickener polyurea; before lithium",
    )


def test_grease_told_before_points_had_work_of_their_own_starts_nothing_new():
    said = Grease().outcome(GreasePart(), [stroke("left", found="blocked"), stroke("right")])

    assert (said.pieces, said.starts) == (frozenset(), ())
    assert [hold.piece for hold in said.holds] == ["grease"]


def test_greased_by_no_stroke_and_nothing_seen_is_asked_again(lifted):
    sent = ALL | of("left king pin", found="greased", strokes="0")

    form = form_at(lifted, 2, sent)

    assert not form.is_valid()
    assert list(form.errors.values()) == [
        ["left king pin: say the strokes, or that clean grease was seen"]
    ]
