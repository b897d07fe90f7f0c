"""Projected rows put in one statement are the rows that Django itself would write."""

from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import UUID

import pytest
from django.db import DataError, connection

from fleet.actions import put_rows
from fleet.models import Cart, Recheck
from tests.factories import CartFactory, SiteFactory

pytestmark = pytest.mark.django_db
COLUMNS = {
    model: tuple(f.attname for f in model._meta.concrete_fields) for model in (Cart, Recheck)
}
AT = datetime(2026, 3, 2, 13, 0, 0, 5, tzinfo=UTC)


def as_row(made):
    return tuple(getattr(made, name) for name in COLUMNS[type(made)])


def a_recheck(cart, number, **changed):
    said = {
        "id": UUID(int=number),
        "site_id": cart.site_id,
        "cart_id": cart.pk,
        "rule_code": "first-check",
        "kind_code": "first-check",
        "anchor_id": UUID(int=9),
        "anchor_on": date(2026, 1, 2),
        "due_hours": Decimal("12.500"),
        "ended_at": AT,
    }
    return Recheck(**said | changed)


def carts(site):
    plain = CartFactory.build(site=site, pk=UUID(int=1), number="7")
    odd = CartFactory.build(
        site=site,
        pk=UUID(int=2),
        number='{"8", \\',
        missing=["speed", 'it\'s; "so"'],
        condition=Cart.Condition.ON_STANDS,
        colour="été ' \\ %s",
        read_at=AT,
        hours_life=Decimal("-0.001"),
    )
    return [plain, odd]


@pytest.mark.parametrize("write", [put_rows.put, put_rows._by_values])
def test_new_and_changed_rows_are_written_as_they_are(write):
    made = carts(SiteFactory())
    write(Cart, COLUMNS[Cart], [as_row(made[0])])
    made[0].bay, made[0].missing = "other", ["label"]

    write(Cart, COLUMNS[Cart], [as_row(one) for one in made])

    assert sorted(Cart.objects.values_list(*COLUMNS[Cart])) == sorted(map(as_row, made))


def test_rows_of_several_batches_all_arrive(monkeypatch):
    monkeypatch.setattr(put_rows, "BATCH_ROWS", 2)
    cart = CartFactory()
    made = [a_recheck(cart, number, due_on=None) for number in (5, 3, 4, 1, 2)]

    put_rows.put(Recheck, COLUMNS[Recheck], [as_row(one) for one in made])

    wanted = sorted(map(as_row, made), key=lambda row: row[0])
    assert list(Recheck.objects.order_by("id").values_list(*COLUMNS[Recheck])) == wanted


def test_a_text_too_long_is_refused_and_not_cut_short():
    if connection.vendor == "sqlite":
        pytest.skip("SQLite holds a text of any length")
    row = as_row(a_recheck(CartFactory(), 1, governs="kilometres"))

    with pytest.raises(DataError):
        put_rows.put(Recheck, COLUMNS[Recheck], [row])
