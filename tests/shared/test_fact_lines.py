"""Lines: told, sealed and stored with their fact, in their places."""

import json

import pytest

from fleet.models import Round
from lifts.models import GreasePart, GreaseStroke
from shared.canonical import body_of
from shared.facts import OtherBody, record
from shared.models import Entry, new_id
from tests.factories import MORNING
from tests.lift_factories import a_kit
from tests.yard import LATER

pytestmark = [pytest.mark.django_db, pytest.mark.both]


@pytest.fixture
def part(yard):
    """Return a maker of the same part of a round, unsaved."""
    about = {"site": yard.cart.site, "cart": yard.cart, "by": yard.by}
    visit = record(Round(opened_at=MORNING, **about), at=MORNING).fact
    fact_id = new_id()
    return lambda: GreasePart(id=fact_id, round=visit, lubricant="lithium soap", **about)


@pytest.fixture
def points(yard):
    return list(a_kit(yard.cart.site, yard.by).grease_points.all())


def stroke(point, strokes, **values):
    return GreaseStroke(point=point, name=point.name, found="greased", strokes=strokes, **values)


def body(part):
    return json.loads(bytes(Entry.objects.get(fact_id=part.pk).body))


def test_lines_are_sealed_and_stored_with_their_fact(part, points):
    fact = part()

    record(fact, stroke(points[0], 3), stroke(points[1], 5), at=MORNING)

    assert [(line.place, line.strokes) for line in fact.lines.all()] == [(0, 3), (1, 5)]
    assert [(line["place"], line["strokes"]) for line in body(fact)["lines"]] == [(0, 3), (1, 5)]
    assert {line["of"] for line in body(fact)["lines"]} == {"lifts.greasestroke"}
    stored = GreasePart.objects.get()
    assert body_of(stored, stored.lines.all()) == bytes(Entry.objects.get(fact_id=fact.pk).body)


def test_lines_are_sealed_by_place_however_they_come(part, points):
    record(part(), stroke(points[0], 3, place=1), stroke(points[1], 5, place=2), at=MORNING)

    again = record(part(), stroke(points[1], 5, place=2), stroke(points[0], 3, place=1), at=LATER)

    assert again.first is False
    assert GreaseStroke.objects.count() == 2


@pytest.mark.parametrize("strokes", [[3], [3, 6], [3, 5, 1], [5, 3]])
def test_other_lines_make_another_body(part, points, strokes):
    record(part(), stroke(points[0], 3), stroke(points[1], 5), at=MORNING)
    others = [stroke(point, n) for point, n in zip(points, strokes, strict=False)]

    with pytest.raises(OtherBody):
        record(part(), *others, at=LATER)

    assert [line.strokes for line in GreaseStroke.objects.all()] == [3, 5]


def test_two_lines_in_one_place_are_refused(part, points):
    with pytest.raises(ValueError, match="one place"):
        record(part(), stroke(points[0], 3, place=1), stroke(points[1], 5, place=1), at=MORNING)

    assert GreasePart.objects.count() == 0
