"""Canonical bytes: those of RFC 8785, and the same before and after the database."""

import json
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from uuid import UUID

import pytest
import rfc8785
from django.apps import apps
from django.db import connection, models
from hypothesis import example, given
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase as PropertyCase

from fleet.models import MeterFitted, Note
from lifts.models import Look
from shared.canonical import body_of, canonical, plain
from shared.facts import record
from shared.models import Change, Entry, Fact, Line
from tests.factories import MORNING, CartFactory, PersonFactory

TEXT = st.text(st.characters(exclude_categories=["Cs"]))
LARGEST_INT = 2**53 - 1  # RFC 7493 2.2
LEAVES = st.none() | st.booleans() | st.integers(-LARGEST_INT, LARGEST_INT) | TEXT
JSON = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXT, inner, max_size=4),
    max_leaves=20,
)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)


@given(JSON)
def test_canonical_writes_what_rfc_8785_writes(value):
    assert canonical(value) == rfc8785.dumps(value)


@given(st.text(st.characters(max_codepoint=0x9F)))
def test_canonical_escapes_as_rfc_8785_does(text):
    assert canonical({text: text}) == rfc8785.dumps({text: text})


@given(st.dictionaries(TEXT, NUMBERS, max_size=4))
def test_canonical_leaves_floats_to_the_slower_writer(value):
    assert canonical(value) == rfc8785.dumps(value)


def test_canonical_sorts_keys_as_utf_16_does():
    beyond, private = "\U0001f600", "\ue000"  # UTF-16 begins them with D83D and E000

    assert canonical({private: 1, beyond: 2}) == f'{{"{beyond}":2,"{private}":1}}'.encode()


@pytest.mark.parametrize("value", [2**53, -(2**53), "\ud800", {"a": "\udfff"}, {1: "a"}])
def test_canonical_refuses_what_rfc_8785_has_no_form_for(value):
    with pytest.raises(ValueError):
        canonical(value)


@pytest.mark.parametrize(
    ("field", "value", "text"),
    [
        (models.DecimalField(max_digits=9, decimal_places=3), Decimal("1E2"), "100.000"),
        (models.DecimalField(max_digits=9, decimal_places=3), Decimal("-0.5"), "-0.500"),
        (models.DecimalField(max_digits=9, decimal_places=0), Decimal("7"), "7"),
        (
            models.DateTimeField(),
            datetime(2026, 11, 1, 1, 30, tzinfo=timezone(-timedelta(hours=4))),
            "2026-11-01T05:30:00.000000+00:00",
        ),
        (models.DateField(), date(2026, 2, 28), "2026-02-28"),
        (models.UUIDField(), UUID(int=10), "00000000-0000-0000-0000-00000000000a"),
        (models.JSONField(), {"a": [1, None, {"b": True}]}, {"a": [1, None, {"b": True}]}),
    ],
)
def test_plain_gives_the_form_that_any_database_reads_back(field, value, text):
    assert plain(field, value) == text


@pytest.mark.parametrize(
    "value", [1.5, {"a": [0.1]}, ("a",), [Decimal("1")], {"a": date.max}, b"a"]
)
def test_plain_refuses_what_may_read_back_otherwise(value):
    field = models.JSONField(name="value")

    with pytest.raises(TypeError, match="value cannot be sealed"):
        plain(field, value)


def test_no_field_hides_the_bodys_own_names():
    taken = {
        field.name
        for model in apps.get_models()
        if issubclass(model, Fact | Line)
        for field in model._meta.concrete_fields
    }

    assert taken & {"kind", "lines", "of"} == set()
    assert "done_at" in taken


def test_every_fact_and_line_has_only_columns_that_can_be_sealed():
    sealable = (
        models.BooleanField
        | models.CharField
        | models.DateField
        | models.DecimalField
        | models.ForeignKey
        | models.IntegerField
        | models.JSONField
        | models.TextField
        | models.UUIDField
    )
    others = [
        str(field)
        for model in apps.get_models()
        if issubclass(model, Fact | Line)
        for field in model._meta.concrete_fields
        if not isinstance(field, sealable)
    ]

    assert others == []


MOMENTS = st.datetimes(datetime(1990, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC))
SHOWN = st.decimals(-99_999, 999_999, places=4)
NO_NUL = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=30)


@pytest.mark.both
class TestReadBack(PropertyCase):
    """A row read back from the database has the body that was sealed."""

    @given(MOMENTS, SHOWN, st.none() | SHOWN)
    @example(MORNING, Decimal("-0.0004"), Decimal("1E2"))
    def test_meter(self, at, start, final):
        cart = CartFactory()
        fact = MeterFitted(
            site=cart.site, cart=cart, by=PersonFactory(), start_shown=start, old_final=final
        )

        record(fact, at=at)

        stored = MeterFitted.objects.get(pk=fact.pk)
        assert body_of(stored, []) == bytes(Entry.objects.get(fact_id=fact.pk).body)
        connection.check_constraints()

    @given(st.dictionaries(NO_NUL, NO_NUL | st.integers(-LARGEST_INT, LARGEST_INT), max_size=4))
    def test_change(self, value):
        cart = CartFactory()
        fact = Change(site=cart.site, by=PersonFactory(), what="bay", value=value)

        record(fact, at=datetime(2026, 3, 2, tzinfo=UTC))

        stored = Change.objects.get(pk=fact.pk)
        assert body_of(stored, []) == bytes(Entry.objects.get(fact_id=fact.pk).body)


def as_first_sealed(fact, lines):
    """Return the body as it was made of one dict of plain values by RFC 8785's own writer."""
    in_place = sorted(lines, key=lambda line: (line._meta.label_lower, line.place))
    of_lines = [
        {"of": line._meta.label_lower, **plain_values(line, {"id", "fact"})} for line in in_place
    ]
    return rfc8785.dumps({"kind": fact.kind(), **plain_values(fact), "lines": of_lines})


def plain_values(row, left_out=frozenset()):
    said = {
        field.name: plain(field, getattr(row, field.attname))
        for field in row._meta.concrete_fields
        if field.name not in left_out
    }
    later = {name for name in row.added_later if said[name] is None}
    return {name: value for name, value in said.items() if name not in later}


ANY_VALUE = {
    models.BooleanField: st.booleans(),
    models.CharField: TEXT | st.sampled_from(MeterFitted.Unit),
    models.TextField: TEXT,
    models.DateTimeField: st.datetimes(timezones=st.timezones()),
    models.DateField: st.dates(),
    models.DecimalField: st.decimals(-9_999, 9_999, places=3),
    models.IntegerField: st.integers(-LARGEST_INT, LARGEST_INT),
    models.JSONField: st.dictionaries(TEXT, JSON, max_size=3) | st.lists(JSON, max_size=3),
    models.UUIDField: st.uuids(),
}
KINDS = [model for model in apps.get_models() if issubclass(model, Fact)]
LINES = [model for model in apps.get_models() if issubclass(model, Line)]


@st.composite
def rows(draw, models_of):
    model = draw(st.sampled_from(models_of))
    return model(**{field.attname: draw(values_of(field)) for field in model._meta.concrete_fields})


def values_of(field):
    while field.is_relation:
        field = field.target_field
    kind = next(kind for kind in type(field).__mro__ if kind in ANY_VALUE)
    return ANY_VALUE[kind] | st.none() if field.null else ANY_VALUE[kind]


@given(rows(KINDS), st.lists(rows(LINES), max_size=3, unique_by=lambda line: line.place))
def test_body_has_the_bytes_that_were_sealed_first(fact, lines):
    assert body_of(fact, lines) == as_first_sealed(fact, lines)


@pytest.mark.parametrize("value", [1.5, b"a", ["a", 0.5], {"a": 2**53}, "\ud800"])
def test_body_refuses_what_cannot_be_sealed(value):
    with pytest.raises((TypeError, ValueError)):
        body_of(Change(by_id=1, what="bay", value=value), [])


def test_body_leaves_out_a_later_column_that_says_nothing():
    look = Look(found="firm", name="left front lugs", family="lugs", place=1)

    before = json.loads(body_of(Note(by_id=1), [look]))["lines"][0]
    look.wrench_state = "good"
    after = json.loads(body_of(Note(by_id=1), [look]))["lines"][0]

    assert set(before) & Look.added_later == set()
    assert after == before | {"wrench_state": "good"}


def test_later_columns_may_be_null():
    facts = [model for model in apps.get_models() if issubclass(model, Fact | Line)]

    later = [model._meta.get_field(name) for model in facts for name in model.added_later]

    assert len(later) > 0
    assert [field for field in later if not field.null] == []
