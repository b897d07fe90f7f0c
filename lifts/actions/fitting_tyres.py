"""What a fitting says of tyres, as changes of the register: those put on, those on before."""

from decimal import Decimal
from uuid import uuid5

from fleet.gather import JOINED, TYRES_BEFORE
from fleet.standing import EVERYTHING
from fleet.tellings import tellings_of
from fleet.tyre_codes import read_tyre_code
from lifts.tyre_changes import tyres_of, tyres_on
from shared.facts import TICK, correction_of, record, strike
from shared.models import Change

TYRE_SIZE = "tyre size"


def has_other_tyres(fitting, cart):
    code, measured_mm = _tyres_after(fitting)
    return code and (code != cart.tyre or measured_mm not in (None, cart.tyre_mm))


def tyre_change(fitting):
    """Return the unsaved change to the tyres that were put on."""
    return _change(fitting, TYRE_SIZE, _tyres_told(*_tyres_after(fitting)))


def before_id(fitting):
    return uuid5(fitting.pk, TYRES_BEFORE)


def tell_tyres_before(fitting, *, at):
    """Let the register say the tyres that a recorded fitting says were on before it.

    Who adds a cart tells the tyres it has that day: where the fitting changed them, those of
    before stood on it since it joined. Any other word of the register stands until just before
    the fitting. Tyres that it had already are told anew then, so that their clocks start.
    """
    before, after = _told_before(fitting), tyre_change(fitting)
    if before is None or not after.value["tyre_mm"]:
        return
    just_before = fitting.done_at - TICK
    on = tyres_on(tyres_of(fitting.cart_id, EVERYTHING), just_before)
    if on and on.mm == Decimal(before["tyre_mm"]):
        return
    since = min(on.at + TICK, just_before) if on and _is_joining(fitting, on.at) else just_before
    record(_change(fitting, TYRES_BEFORE, before, done_at=since), at=at)
    if after.value["tyre_mm"] != before["tyre_mm"] and not _standing(fitting, TYRE_SIZE):
        record(after, at=at)


def correct_tyres(fitting, again, reason, at):
    """Let the changes of tyres that came with a fitting say what the fitting says now."""
    change, known = tyre_change(again), _standing(fitting, TYRE_SIZE)
    if known is None:
        if again.tyre_after and _tyres_after(again) != _tyres_after(fitting):
            record(change, at=at)
    elif not again.tyre_after:
        strike(known, reason=reason, by=again.by, at=at)
    else:
        _correct(known, change.pk, change.value, again, reason, at)
    _correct_before(fitting, again, reason, at)


def _correct_before(fitting, again, reason, at):
    known, told = _standing(fitting, TYRES_BEFORE), _told_before(again)
    if known is None:
        tell_tyres_before(again, at=at)
    elif told is None or not again.tyre_after:
        strike(known, reason=reason, by=again.by, at=at)
    else:
        _correct(known, before_id(again), told, again, reason, at)


def _correct(known, pk, value, again, reason, at):
    if known.value != value:
        told = {"id": pk, "value": value}
        record(correction_of(known, reason=reason, by=again.by, **told), at=at)


def _standing(fitting, what):
    """Return the standing change of tyres that was recorded with any telling of a fitting."""
    ids = [uuid5(told.pk, what) for told in tellings_of(fitting)]
    return Change.objects.standing().filter(pk__in=ids).first()


def _is_joining(fitting, at):
    return Change.objects.filter(cart_id=fitting.cart_id, what=JOINED, done_at=at).exists()


def _tyres_after(fitting):
    return fitting.tyre_after, fitting.tyre_after_mm


def _told_before(fitting):
    """Return what a change to the tyres of before says; None where their diameter is not known."""
    told = _tyres_told(fitting.tyre_before, fitting.tyre_before_mm)
    return told if told["tyre_mm"] else None


def _change(fitting, what, value, **more):
    about = {
        "site_id": fitting.site_id,
        "cart_id": fitting.cart_id,
        "by": fitting.by,
        "done_at": fitting.done_at,
        "day_only": fitting.day_only,
        "written_at": fitting.written_at,
        "brought_in": fitting.brought_in,
    }
    return Change(id=uuid5(fitting.pk, what), what=what, value=value, **about | more)


def _tyres_told(code, measured_mm):
    """Return what a change of tyres says: their code, their diameter, and whence it is."""
    if measured_mm is not None:
        return {"tyre": code, "tyre_mm": str(measured_mm)}
    marked_mm = _marked_mm(code)
    if marked_mm is None:
        return {"tyre": code, "tyre_mm": None}
    return {"tyre": code, "tyre_mm": format(marked_mm, "f"), "diameter_from": "the marked size"}


def _marked_mm(code):
    try:
        return read_tyre_code(code).diameter_mm
    except ValueError:
        return None
