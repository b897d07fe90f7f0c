"""The warning label look after look: one tap, what is remembered, what is to be replaced."""

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.actions.rounds import TakenDown, save_round
from fleet.kinds import register
from fleet.models import Cart
from lifts.actions import fit
from lifts.label_drawing import PLACES, drawing
from lifts.models import LabelCheck
from lifts.parts.label import Label
from shared.models import new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit
from tests.lifts.visiting import a_visit
from tests.round_factories import EVERY_PART, a_round

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
GOOD = {"label-as_it_should_be": "on"}
SIZES = {"label-letters": "3.5 mm", "label-signal_word": "6 mm", "label-seat": "0.9 m"}


@pytest.fixture
def lifted(cart, kit, manager):
    fit(cart, kit, by=manager, at=MORNING)
    cart = Cart.objects.get(pk=cart.pk)
    a_round(cart, by=manager, at=MORNING + DAY, parts=EVERY_PART)
    return cart


def form_at(cart, day, sent, **visit):
    return register.parts["label"].form(a_visit(cart, MORNING + day * DAY, **visit), sent, {})


def looked(cart, by, day, sent):
    form = form_at(cart, day, sent)
    assert form.is_valid(), form.errors
    at = MORNING + day * DAY
    taken = TakenDown(id=new_id(), opened_at=at, parts=[(Label(), form)])
    save_round(cart, taken, by=by, at=at)
    fact = LabelCheck.objects.latest("done_at")
    return fact, Label().outcome(fact, [])


def older(fact):
    return (fact.in_place, fact.is_legible, fact.visible_from_seat)


def as_found(condition, **more):
    return {"label-condition": condition} | {f"label-{name}": said for name, said in more.items()}


def test_one_tap_says_clear_and_in_sight(lifted, manager):
    fact, outcome = looked(lifted, manager, 2, GOOD)

    assert (fact.condition, older(fact), fact.is_good) == ("clear", (True, True, True), True)
    assert outcome.pieces == {"label"}


@pytest.mark.parametrize(
    ("sent", "answers", "reason"),
    [
        (as_found("worn", visible_from_seat="yes"), (True, True, True), None),
        (
            as_found("clear", visible_from_seat="no"),
            (True, True, False),
            "Warning label not visible from the seat: replace it within 24 hours",
        ),
        (
            as_found("unreadable", visible_from_seat="yes"),
            (True, False, True),
            "Warning label not legible: replace it within 24 hours",
        ),
        (
            as_found("covered", covered_by="a phone holder"),
            (True, True, False),
            "Warning label covered by a phone holder: uncover or replace it within 24 hours",
        ),
        (
            as_found("covered"),
            (True, True, False),
            "Warning label covered: uncover or replace it within 24 hours",
        ),
        (
            as_found("gone"),
            (False, False, False),
            "Warning label gone: replace it within 24 hours",
        ),
    ],
)
def test_the_older_answers_follow_from_the_condition(lifted, manager, sent, answers, reason):
    fact, outcome = looked(lifted, manager, 2, sent)

    assert older(fact) == answers
    assert [hold.reason for hold in outcome.holds] == ([reason] if reason else [])
    assert outcome.pieces == (frozenset() if reason else {"label"})


@pytest.mark.parametrize(
    "sent", [as_found("gone", replaced="on"), as_found("covered", uncovered="on")]
)
def test_what_is_put_right_on_the_spot_closes(lifted, manager, sent):
    fact, outcome = looked(lifted, manager, 2, sent)

    assert (outcome.pieces, outcome.starts, fact.is_good) == ({"label"}, (), True)


def test_taken_off_counts_where_something_covered_it_alone(lifted, manager):
    fact, outcome = looked(lifted, manager, 2, as_found("gone", uncovered="on"))

    assert (fact.uncovered, outcome.pieces) == (None, frozenset())


def test_a_pressed_condition_counts_beside_the_one_tap(lifted, manager):
    fact, _outcome = looked(lifted, manager, 2, GOOD | as_found("gone"))

    assert (fact.condition, fact.is_good) == ("gone", False)


@pytest.mark.parametrize(
    ("sent", "missing"),
    [({}, "condition"), (as_found("clear"), "visible_from_seat")],
)
def test_what_is_not_said_is_asked(lifted, sent, missing):
    form = form_at(lifted, 2, sent)

    assert not form.is_valid()
    assert (list(form.errors), form.is_otherwise()) == ([missing], True)


def test_a_label_gone_is_due_and_stops_within_24_hours_until_replaced(lifted, manager):
    looked(lifted, manager, 2, as_found("gone"))

    wanting = lifted.rechecks.active().get(rule_code="label-wanting")
    assert wanting.due_on == wanting.stops_on == (MORNING + 3 * DAY).date()
    looked(lifted, manager, 3, as_found("gone", replaced="on"))
    wanting.refresh_from_db()
    assert wanting.ended == "closed"


def test_what_was_measured_and_where_it_is_are_remembered(lifted, manager):
    sent = GOOD | SIZES | {"label-place": "dash, middle", "label-batch": "2026-01"}
    looked(lifted, manager, 2, sent | {"label-position": "by the horn"})

    form = form_at(lifted, 3, None)

    names = ("letters", "signal_word", "seat", "place", "position", "batch")
    assert [form.fields[name].initial for name in names] == [
        "3.5 mm",
        "6 mm",
        "0.9 m",
        "dash, middle",
        "by the horn",
        "2026-01",
    ]


def test_a_figure_typed_without_a_unit_keeps_its_meaning_in_other_units(lifted, manager):
    looked(lifted, manager, 2, GOOD | {"label-seat": "36"})
    fact = LabelCheck.objects.latest("done_at")
    lifted.site.units = {"metric": "inch", "inch": "metric"}[lifted.site.units]

    form = form_at(lifted, 3, None)

    assert form.fields["seat"].clean(form.fields["seat"].initial).si == fact.seat_mm


def test_a_place_said_in_words_is_elsewhere(lifted, manager):
    looked(lifted, manager, 2, GOOD | {"label-position": "on the tray"})

    form = form_at(lifted, 3, None)

    assert LabelCheck.objects.latest("done_at").position == "on the tray"
    assert form.fields["place"].initial == "elsewhere"
    assert form.fields["position"].initial == "on the tray"


def test_another_lift_begins_with_a_label_of_its_own(lifted, site, manager):
    looked(lifted, manager, 2, GOOD | SIZES)
    fit(lifted, a_kit(site, manager, code="other"), by=manager, at=MORNING + 3 * DAY)

    assert form_at(lifted, 4, None).fields["letters"].initial is None


def test_another_carts_label_is_not_remembered(lifted, site, kit, manager):
    looked(lifted, manager, 2, GOOD | SIZES)
    other = a_cart(site, manager, "8")
    fit(other, kit, by=manager, at=MORNING)

    assert form_at(other, 4, None).fields["letters"].initial is None


def rows(**values):
    fact = LabelCheck(in_place=True, is_legible=True, visible_from_seat=True, **values)
    return {item: (found, detail) for item, found, detail in Label().said(fact, [])}


@pytest.mark.parametrize(
    ("letters", "seat", "verdict"),
    [
        # 12 pt at 3 ft: ANSI Z535.4-2011 Annex B by a label maker's page; a capital 0.70 of it
        ("2.97", "914.4", "inside"),
        ("2.96", "914.4", "outside"),
        ("2.97", "914.5", "outside"),
        ("90", "1524.1", "not in the table"),
    ],
)
def test_letters_are_held_against_where_they_are_read_from(letters, seat, verdict):
    said = rows(letters_mm=Decimal(letters), seat_mm=Decimal(seat))

    found, detail = said["letters of the label"]
    assert found == verdict
    assert "ANSI Z535.4-2011 Annex B" in detail
    assert "signal word of the label" not in said


@pytest.mark.parametrize(("word", "verdict"), [("4.5", "inside"), ("4.49", "outside")])
def test_a_signal_word_is_one_and_a_half_times_a_capital(word, verdict):
    # ANSI Z535.2 by a page on viewing distances
    said = rows(letters_mm=Decimal(3), signal_word_mm=Decimal(word))

    assert said["signal word of the label"][0] == verdict


def test_letters_too_small_inform_and_close_as_before(lifted, manager):
    sizes = {"label-letters": "1 mm", "label-seat": "0.9 m"}

    fact, outcome = looked(lifted, manager, 2, GOOD | sizes)

    assert rows(letters_mm=fact.letters_mm, seat_mm=fact.seat_mm)["letters of the label"][0] == (
        "outside"
    )
    assert (outcome.pieces, outcome.holds) == ({"label"}, ())


def test_a_look_of_before_the_condition_was_asked_reads_as_it_did():
    assert rows()["label"] == ("in place, legible, visible", "")
    assert rows(condition="worn")["label"][0] == "worn, readable; in place, legible, visible"


def test_the_kits_words_for_the_label_are_shown(site, manager, cart):
    words = "WARNING: This cart is lifted."
    fit(cart, a_kit(site, manager, label_text=words), by=manager, at=MORNING)

    assert form_at(cart, 1, None).label_text == words


def test_the_drawing_names_every_place_and_frames_the_chosen_one():
    plain = drawing("Where", "Places: A, B.", "here")
    framed = drawing("Where", "Places: A, B.", "here", "steering column")

    assert plain.count('class="label-place ') == len(PLACES) == 7
    assert ("here</text>" in plain, framed.count("here</text>")) == (False, 1)
    assert framed.count('stroke-width="4"') == 1
    assert 'style="' not in framed


def test_the_drawing_keeps_its_marks_apart_and_inside():
    corners = [(place.x, place.y) for place in PLACES]

    assert all(17 <= x <= 383 and 12 <= y <= 226 for x, y in corners)
    near = [
        (one, other)
        for place, one in enumerate(corners)
        for other in corners[place + 1 :]
        if abs(one[0] - other[0]) < 36 and abs(one[1] - other[1]) < 26
    ]
    assert near == []
