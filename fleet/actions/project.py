"""Keeps the rows of carts and rechecks as the facts have them. Writes only what changed."""

from contextlib import contextmanager
from contextvars import ContextVar

from django.db import transaction

from fleet.actions.put_rows import put
from fleet.gather import ground_of
from fleet.models import Cart, CartNumber, Recheck, WaitingRound
from fleet.projection import projected
from fleet.standing import facts_for_dates

BATCH_CARTS = 200

_waiting: ContextVar[set | None] = ContextVar("carts that wait to be re-projected", default=None)


@contextmanager
def put_off():
    """Re-project carts once at the end, or when ``now`` is called: for much history at once."""
    token = _waiting.set(set())
    try:
        yield
        now()
    finally:
        _waiting.reset(token)


def now():
    """Re-project the carts whose re-projection was put off so far."""
    waiting = _waiting.get() or set()
    ids = sorted(waiting)
    waiting.clear()
    return at_once(ids)


def carts(cart_ids) -> int:
    """Re-project these carts from all their facts; return how many rows changed."""
    waiting = _waiting.get()
    if waiting is not None:
        waiting.update(cart_ids)
        return 0
    return at_once(cart_ids)


def at_once(cart_ids) -> int:
    """Re-project these carts even while others are put off."""
    ids = list(dict.fromkeys(cart_ids))
    batches = (ids[start : start + BATCH_CARTS] for start in range(0, len(ids), BATCH_CARTS))
    return sum(_batch(batch) for batch in batches)


def differences(cart_ids):
    """Return a line for each row that is not what the facts say: there should be none."""
    found = []
    for model, stored, wanted in _pairs(list(cart_ids)):
        for key in stored.keys() | wanted.keys():
            if stored.get(key) != wanted.get(key):
                name = f"{model._meta.verbose_name} {key}"
                found.append(f"{name}: row {stored.get(key)}, facts {wanted.get(key)}")
    return found


@transaction.atomic
def _batch(ids):
    return sum(_write(model, stored, wanted) for model, stored, wanted in _pairs(ids))


def _pairs(ids):
    """Yield (model, stored, wanted), each rows as {key: values}, the carts first."""
    read = facts_for_dates(ids)
    known = [facts for facts in read.values() if facts.changes]
    ground = ground_of(known)
    made = [projected(facts, ground) for facts in known]
    carts, numbers, rechecks, waiting = [], [], [], []
    for one in made:
        carts.append(one.cart)
        numbers += one.numbers
        rechecks += one.rechecks
        waiting += one.waiting
    for model, rows, of in (
        (Cart, carts, {"pk__in": ids}),
        (CartNumber, numbers, {"cart_id__in": ids}),
        (Recheck, rechecks, {"cart_id__in": ids}),
        (WaitingRound, waiting, {"cart_id__in": ids}),
    ):
        columns = _columns(model)
        stored = model.objects.filter(**of).values_list(*columns)
        wanted = rows if model is Recheck else (_row(row, columns) for row in rows)
        yield model, _keyed(model, stored), _keyed(model, wanted)


def _columns(model):
    names = [field.attname for field in model._meta.concrete_fields]
    return [name for name in names if not (model is CartNumber and name == "id")]


def _row(row, columns):
    return tuple(getattr(row, name) for name in columns)


def _keyed(model, rows):
    """Key rows by id; a number's span, which has none of its own, by all it says."""
    return {row if model is CartNumber else row[0]: row for row in rows}


def _write(model, stored, wanted):
    gone = [key for key in stored if key not in wanted]
    changed = [wanted[key] for key in wanted if stored.get(key) != wanted[key]]
    columns = _columns(model)
    if model is CartNumber:
        for key in gone:
            CartNumber.objects.filter(**dict(zip(columns, key, strict=True))).delete()
        CartNumber.objects.bulk_create(
            CartNumber(**dict(zip(columns, row, strict=True))) for row in changed
        )
        return len(gone) + len(changed)
    if gone:
        model.objects.filter(pk__in=gone).delete()
    put(model, columns, changed)
    return len(gone) + len(changed)
