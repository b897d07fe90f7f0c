"""What a round told again leaves as it was: recorded anew, unchanged, for the new telling."""

from uuid import uuid5

from fleet.doubts import DISTANCE, HOURS
from fleet.kinds import register
from fleet.models import Reading
from fleet.models.facts import Part
from fleet.tellings import typed_of
from shared.facts import correction_of
from shared.models import Photo

ABOUT_FACT = ("id", "fact")


def copies_of(lines):
    """Return unsaved copies of a fact's lines."""
    return [
        type(line)(
            **{
                field.attname: getattr(line, field.attname)
                for field in line._meta.concrete_fields
                if field.name not in ABOUT_FACT
            }
        )
        for line in lines
    ]


def kept_parts(old, visit):
    """Return those of a round's old (fact, lines) that are parts which a visit does not touch."""
    touched = {part.model for part, _form in visit.parts} | {part.model for part in visit.undone}
    return [
        (fact, lines) for fact, lines in old if isinstance(fact, Part) and type(fact) not in touched
    ]


def outcomes_of(parts):
    """Return what parts as recorded amount to."""
    kinds = {part.model: part for part in register.parts.values()}
    return tuple(kinds[type(fact)].outcome(fact, lines) for fact, lines in parts)


def reading_of(old):
    """Return the reading among a round's old facts, None without one."""
    return next((fact for fact, _lines in old if isinstance(fact, Reading)), None)


def keep_figure(visit, reading):
    """Let a visit that tells one meter again tell the other as it was read."""
    if reading is None or (visit.hours is None) == (visit.distance is None):
        return
    kept = HOURS if visit.hours is None else DISTANCE
    figure = getattr(reading, f"{kept}_shown")
    if figure is None:
        return
    setattr(visit, kept, figure)
    setattr(visit, f"{kept}_rolled", getattr(reading, f"{kept}_rolled"))
    visit.doubted = visit.doubted or reading.doubted
    typed = [typed_of(reading, kept), visit.typed]
    visit.typed = "; ".join(typed if kept == HOURS else reversed(typed))


def carried(left, told, kept, *, row, visit, by):
    """Return (old fact, its copy, lines) of all ``left`` of a round that stays as it was.

    ``told`` are (old, new) facts: photos of an old one stay with the new one.
    """
    ids = {old.pk: new.pk for old, new in told}
    parts = {fact.pk: lines for fact, lines in kept}
    ids |= {key: _kept_id(key, visit) for key in parts}
    found = []
    for fact in left:
        stays = fact.pk in parts or isinstance(fact, Reading)
        if stays or (isinstance(fact, Photo) and fact.about in ids):
            copy = _copy(fact, ids, row=row, why=visit.why_corrected, by=by, visit=visit)
            found.append((fact, copy, copies_of(parts.get(fact.pk, ()))))
    return found


def _kept_id(key, visit):
    return uuid5(key, f"kept in {visit.id}")


def _copy(fact, ids, *, row, why, by, visit):
    values = {"id": _kept_id(fact.pk, visit), "site_id": row.site_id, "done_at": row.done_at}
    if hasattr(fact, "round_id"):
        values["round_id"] = row.pk
    if hasattr(fact, "about"):
        values["about"] = ids[fact.about]
    return correction_of(fact, reason=why, by=by, **values)
