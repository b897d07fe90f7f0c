"""A sheet through the form, the part and the journal, and back as block and bundle."""

from datetime import timedelta
from types import SimpleNamespace

import pytest
from django.db import DatabaseError, transaction
from django.template.loader import render_to_string

from alignment.blocks import sheets_block
from alignment.models import CamberReading, CamberToeSheet
from alignment.parts import CamberToePart
from alignment.readings import Turn
from alignment.sheets import sheet_of
from fleet.kinds import register
from fleet.models import Round
from shared.canonical import body_of
from shared.facts import OtherBody, record, record_all
from shared.models import Entry
from shared.templatetags.site_dates import moment_at
from shared.viewer import Viewer
from tests.alignment_factories import NOON, SLEEVE_TURNED, a_visit, typed
from tests.factories import CartFactory, MembershipFactory, PersonFactory

pytestmark = pytest.mark.django_db
PART = CamberToePart()


@pytest.fixture
def cart():
    return CartFactory(number="041", is_lifted=True)


@pytest.fixture
def mechanic(cart):
    return MembershipFactory(site=cart.site).person


def common(cart, by, at=NOON):
    return {"site_id": cart.site_id, "cart_id": cart.pk, "by": by, "done_at": at, "written_at": at}


def a_round(cart, by, at=NOON):
    row = Round(opened_at=at, **common(cart, by, at))
    record(row, at=at)
    return row


def taken_down(row, cart, by, at=NOON, **fields):
    form = PART.form(a_visit(cart=cart), typed(**fields))
    assert form.errors == {}
    return PART.facts(row, form, common(cart, by, at))


def recorded(cart, by, at=NOON, **fields):
    ((fact, lines),) = taken_down(a_round(cart, by, at), cart, by, at, **fields)
    record(fact, *lines, at=at)
    return fact


def test_register_knows_the_kind_and_its_part():
    kind = register.kinds["camber-toe"]

    assert (kind.title, kind.minutes, kind.parts) == ("Camber and toe", 30, ("camber-toe",))
    assert isinstance(register.parts["camber-toe"], CamberToePart)
    assert sheets_block in register.blocks


def test_record_keeps_the_sheet_and_its_readings(cart, mechanic):
    fact = recorded(cart, mechanic)

    kept = CamberToeSheet.objects.get()
    lines = PART.lines_of([kept.pk])[kept.pk]
    assert (kept.pk, kept.diameter_typed) == (fact.pk, "22 in")
    assert [line.place for line in lines] == [0, 1, 2, 3, 4]
    assert lines[2].front_typed == "35 7/8 in"
    assert PART.outcome(kept, lines).pieces == {"camber-toe"}


def test_record_keeps_turns_between_the_readings_in_the_order_of_the_work(cart, mechanic):
    fact = recorded(cart, mechanic, **SLEEVE_TURNED)

    lines = PART.lines_of([fact.pk])[fact.pk]

    passes = [(type(line).__name__, line.pass_no) for line in lines]
    assert [line.place for line in lines] == list(range(10))
    assert passes == [
        *[("CamberReading", 1)] * 2,
        *[("ToeReading", 1)] * 3,
        ("Turn", 2),
        ("CamberReading", 2),
        *[("ToeReading", 2)] * 3,
    ]
    assert sheet_of(fact, lines).turns == [Turn("sleeve", "left", 2, 2.0)]


@pytest.mark.parametrize("fields", [{"diameter": "35/3"}, SLEEVE_TURNED])
def test_record_seals_what_reads_back(cart, mechanic, fields):
    fact = recorded(cart, mechanic, **fields)

    kept = CamberToeSheet.objects.get()
    body = body_of(kept, PART.lines_of([kept.pk])[kept.pk])
    assert bytes(Entry.objects.get(fact_id=fact.pk).body) == body


def test_record_takes_the_same_sheet_twice_as_one(cart, mechanic):
    row = a_round(cart, mechanic)
    first = record_all(taken_down(row, cart, mechanic), at=NOON)

    again = record_all(taken_down(row, cart, mechanic), at=NOON + timedelta(minutes=1))

    assert (first[0].first, again[0].first) == (True, False)
    assert CamberReading.objects.count() == 2
    with pytest.raises(OtherBody):
        record_all(taken_down(row, cart, mechanic, note="windy"), at=NOON)


def test_readings_are_never_changed_nor_thrown_away(cart, mechanic):
    recorded(cart, mechanic)

    for change in (
        lambda: CamberReading.objects.update(stage="left"),
        lambda: CamberReading.objects.all()._raw_delete("default"),
    ):
        with pytest.raises(DatabaseError, match="insert only"), transaction.atomic():
            change()


def test_facts_of_a_form_with_nothing_read_are_none(cart, mechanic):
    visit = a_visit(pieces=["grease"])
    form = PART.form(visit, {"camber-toe-mark": "1/16 in"})

    assert form.is_valid()
    assert PART.facts(a_round(cart, mechanic), form, common(cart, mechanic)) == []


@pytest.mark.parametrize("count", [1, 3])
def test_rows_hold_the_raw_readings_and_what_they_prove(
    cart, mechanic, count, django_assert_num_queries
):
    facts = [
        recorded(cart, mechanic, at=NOON + timedelta(days=day), p1_left_top_1="7/16")
        for day in range(count)
    ]

    with django_assert_num_queries(3):
        rows = list(PART.rows(facts))

    assert {tuple(row) for row in rows} == {("round", "part", "item", "found", "detail")}
    said = [(row["item"], row["found"]) for row in rows[: len(rows) // count]]
    assert rows[0]["round"] == str(facts[0].round_id)
    assert said[:4] == [
        ("camber left", "outside"),
        ("camber right", "inside"),
        ("side to side", "outside"),
        ("toe", "inside"),
    ]
    assert said[-5:] == [
        ("pass 1: camber left", "-1.49°"),
        ("pass 1: camber right", "+0.00°"),
        ("pass 1: toe", "+4.8 mm (+0.188 in)"),
        ("pass 1: toe", "+5.6 mm (+0.219 in)"),
        ("pass 1: toe", "+4.0 mm (+0.156 in)"),
    ]


def test_rows_mark_what_was_voided(cart, mechanic):
    fact = recorded(cart, mechanic, **SLEEVE_TURNED)

    rows = [row for row in PART.rows([fact]) if row["item"].startswith("pass ")]

    assert [(row["item"], row["detail"].endswith("; void")) for row in rows] == [
        ("pass 1: camber left", True),
        ("pass 1: camber right", False),
        *[("pass 1: toe", True)] * 3,
        ("pass 2: camber left", False),
        *[("pass 2: toe", False)] * 3,
    ]


def test_sheets_block_shows_the_last_three_of_this_cart(cart, mechanic, django_assert_num_queries):
    other = CartFactory(site=cart.site, is_lifted=True)
    recorded(other, mechanic)
    facts = [recorded(cart, mechanic, at=NOON + timedelta(days=day)) for day in range(4)]
    viewer = Viewer(mechanic, NOON + timedelta(days=9))
    assert viewer.site_ids == [cart.site_id]

    with django_assert_num_queries(4):
        template, context = sheets_block(cart, viewer)

    shown = [sheet.fact for sheet in context["camber_toe_sheets"]]
    assert shown == facts[:0:-1]
    page = render_to_string(template, context)
    assert "minus camber = top leans in" in page
    assert "+0.188 in (3/16 in, +4.8 mm)" in page
    assert moment_at(facts[-1].done_at, cart.site) in page
    assert "verdict-inside" in page


def test_sheets_block_pairs_a_wheel_read_again_with_the_other_as_found(cart, mechanic):
    recorded(cart, mechanic, **SLEEVE_TURNED | {"p1_left_top_1": "7/16"})

    _, context = sheets_block(cart, Viewer(mechanic, NOON))

    figures = {one.name: one for one in context["camber_toe_sheets"][0].figures}
    between = figures["Camber, left less right"]
    assert between.figure.startswith("+0.00° ±0.33°")
    assert (between.verdict, between.style) == ("inside", "inside")


def test_sheets_block_shows_a_stranger_nothing(cart, mechanic):
    recorded(cart, mechanic)

    _, context = sheets_block(cart, Viewer(PersonFactory(), NOON))

    assert context["camber_toe_sheets"] == []


def test_part_template_shows_signs_and_what_was_typed():
    form = PART.form(a_visit(), typed(p1_front_1="34 7/8"))
    form.is_valid()

    page = render_to_string(PART.template, {"form": form, "part": PART})

    assert "minus camber = top leans in; plus toe = toe-in" in page
    assert 'value="34 7/8"' in page
    assert page.count('name="camber-toe-confirmed"') == 1
    read = [f'name="camber-toe-p1_{end}_{n}"' for end in ("front", "rear") for n in (1, 2, 3)]
    assert [page.count(name) for name in read] == [1] * 6


def test_part_is_for_lifted_carts_alone():
    assert [PART.is_for(SimpleNamespace(is_lifted=lifted)) for lifted in (True, False)] == [
        True,
        False,
    ]
