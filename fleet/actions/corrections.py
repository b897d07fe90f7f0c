"""Rounds taken back, told again, or moved to the right cart: what was written stays readable."""

from types import MappingProxyType
from uuid import uuid5

from django.apps import apps
from django.db import transaction
from django.db.models import Exists, OuterRef

from fleet.actions import carrying, project
from fleet.actions.carrying import copies_of
from fleet.actions.rounds import Saved, tags_of, write
from fleet.fitted import refuse_before_fitting
from fleet.kinds import register
from fleet.models import HandBack, Reading, Recheck, Round, Tag
from fleet.models.facts import Part
from shared.facts import correction_of, lock_sites, record_all, strike
from shared.models import Entry, Photo, Strike

AS_IT_WAS = MappingProxyType({})


def facts_with_lines(row):
    """Return [(fact, lines), ...] of all that a round recorded, the round itself first."""
    found = [(row, [])]
    found += [(fact, []) for fact in Reading.objects.filter(round_id=row.pk)]
    for part in register.parts_in_order():
        facts = list(part.model.objects.filter(round_id=row.pk))
        lines = part.lines_of([fact.pk for fact in facts]) if facts else {}
        found += [(fact, lines.get(fact.pk, [])) for fact in facts]
    about = [fact.pk for fact, _lines in found]
    found += [(photo, []) for photo in Photo.objects.filter(about__in=about)]
    return found + [(tag, []) for tag in _tags_of(row)]


def _tags_of(row):
    """Return the round's tag, or one that an earlier telling of the round left as it was."""
    tags = list(Tag.objects.filter(round_id=row.pk))
    if tags or row.corrects is None:
        return tags
    standing = Tag.objects.filter(~Exists(Entry.objects.filter(corrects=OuterRef("pk"))))
    earlier = Round.objects.get(pk=row.corrects)
    return [tag for tag in _tags_of(earlier) if standing.filter(pk=tag.pk).exists()]


def _not_taken_back(facts, *, but_by):
    """Leave out what was corrected or struck by itself; the round, first, always stays."""
    own = [but_by(fact) for fact, _lines in facts]
    ids = [fact.pk for fact, _lines in facts[1:]]
    entries = Entry.objects.filter(corrects__in=ids).exclude(fact_id__in=own)
    gone = set(entries.values_list("corrects", flat=True))
    return [(fact, lines) for fact, lines in facts if fact.pk not in gone]


@transaction.atomic
def strike_round(row, *, reason, by, at):
    """Take back a round with all its parts, readings, photos and its tag; replace nothing.

    Struck again by the same person for the same reason, it is the same act. Raises
    shared.facts.NotStanding when something of it was taken back before.
    """
    lock_sites(row.site_id)
    old = _not_taken_back(facts_with_lines(row), but_by=lambda fact: uuid5(fact.pk, "struck"))
    strikes = [_strike(fact, reason=reason, by=by) for fact, _lines in old]
    record_all([(strike, ()) for strike in strikes], at=at)
    project.carts([row.cart_id])


@transaction.atomic
def strike_entry(cart, entry, *, reason, by, at):
    """Take back one entry of a cart, in the journal of its present site; replace nothing.

    Struck again by the same person for the same reason, it is the same act. Raises
    shared.facts.NotStanding when it was taken back before.
    """
    lock_sites(entry.site_id, cart.site_id)
    fact = apps.get_model(entry.kind).objects.get(pk=entry.fact_id)
    strike(fact, reason=reason, by=by, at=at, id=uuid5(fact.pk, "struck"), site=cart.site)
    project.carts([cart.pk])


def _strike(fact, *, reason, by):
    return Strike(
        id=uuid5(fact.pk, "struck"),
        site_id=fact.site_id,
        cart_id=fact.entry_cart_id(),
        corrects=fact.pk,
        why_corrected=reason,
        by=by,
    )


@transaction.atomic
def move_round(row, cart, *, reason, by, at, reading=AS_IT_WAS):
    """Move a round that was done at another cart there; return the round as it stands then.

    Each of its facts is told again for that cart, and points at the one it replaces, so
    that both carts show it, and its parts copy in anew what they carry of the cart; a tag
    follows what they amount to then. ``reading`` are values that its meter reading has at
    that cart; None strikes it: it stays behind. The same move again is the same act. Raises
    fleet.fitted.BeforeFitting when it did work at a lift that the cart had not yet.
    """
    lock_sites(row.site_id, cart.site_id)

    def new_id(fact):
        return uuid5(fact.pk, f"moved to {cart.pk}")

    old = _not_taken_back(facts_with_lines(row), but_by=new_id)
    parts = [(fact, lines) for fact, lines in old if isinstance(fact, Part)]
    refuse_before_fitting(cart, row.done_at, parts)
    left = [fact for fact, _lines in old if reading is None and isinstance(fact, Reading)]
    goes = [(fact, lines) for fact, lines in old if fact not in left]
    ids = {fact.pk: new_id(fact) for fact, _lines in goes}
    moved = [(_moved(fact, cart, ids, reason, by), copies_of(lines)) for fact, lines in goes]
    _answer([fact for fact, _lines in moved], reading)
    moved = [_copied_anew(*pair, cart, at) for pair in zip(goes, moved, strict=True)]
    moved, untrue = _tagged_anew(goes, moved)
    strikes = [(_strike(fact, reason=reason, by=by), ()) for fact in (*left, *untrue)]
    record_all([*moved, *strikes], at=at)
    project.carts([row.cart_id, cart.pk])
    return moved[0][0]


def _copied_anew(old, moved, cart, at):
    """Return a moved (fact, lines) with what it carries of its cart; moved before, as it was."""
    fact, lines = moved
    if not isinstance(fact, Part):
        return moved
    part = register.part_of(fact)
    before = type(fact).objects.filter(pk=fact.pk).first()
    if before:
        before.by, before.why_corrected = fact.by, fact.why_corrected
        return before, copies_of(part.lines_of([fact.pk]).get(fact.pk, []))
    part.moved(old[0], fact, lines, cart, at)
    return fact, lines


def _tagged_anew(goes, moved):
    """Return what to record of a moved round, tagged as its parts call for now, and what not.

    A tag that would say the same goes along as it was; one without a finding is to be struck.
    """
    before, wanted = (_tag_of(facts, moved[0][0]) for facts in (goes, moved))
    if before == wanted or (before and wanted and _says_the_same(before, wanted)):
        return moved, []
    tags = [fact for fact, _lines in moved if isinstance(fact, Tag)]
    if not wanted:
        kept = [pair for pair in moved if pair[0] not in tags]
        return kept, [fact for fact, _lines in goes if isinstance(fact, Tag)]
    for tag in tags:
        tag.reason, tag.is_critical = wanted.reason, wanted.is_critical
    return moved if tags else [*moved, (wanted, ())], []


def _tag_of(facts, row):
    parts = [(fact, lines) for fact, lines in facts if isinstance(fact, Part)]
    names = ("site_id", "cart_id", "by", "done_at", "written_at", "brought_in", "day_only")
    fields = {name: getattr(row, name) for name in names}
    tags = tags_of(row, carrying.outcomes_of(parts), fields)
    return tags[0][0] if tags else None


def _answer(facts, values):
    for fact in facts:
        if isinstance(fact, Reading):
            for name, value in (values or {}).items():
                setattr(fact, name, value)


def _moved(fact, cart, ids, reason, by):
    values = {"id": ids[fact.pk], "site_id": cart.site_id, "cart_id": cart.pk}
    for name in ("round_id", "about"):
        if hasattr(fact, name):
            values[name] = ids.get(getattr(fact, name))
    return correction_of(fact, reason=reason, by=by, **values)


@transaction.atomic
def correct_round(row, visit, *, by, at) -> Saved:
    """Record a round told again in place of another, of which ``visit.corrects`` is the id.

    Each part told again replaces the one of its kind, and one that the visit says was not
    done is struck. All else stays as it was: it is recorded again, unchanged, for the new
    telling. Without a time of its own it was done when the first one was.
    """
    lock_sites(row.site_id)
    visit.done_at = visit.done_at or row.done_at
    if visit.done_at == row.done_at:
        visit.opened_at = row.opened_at
    old = facts_with_lines(row)
    carrying.keep_figure(visit, carrying.reading_of(old))
    kept = carrying.kept_parts(old, visit)
    written = write(row.cart, visit, by=by, at=at, kept=kept)
    filed = record_all(_retold(old, kept, written, visit, by=by, at=at), at=at)
    project.carts([row.cart_id])
    closed = tuple(Recheck.objects.closed_by(written.round))
    return Saved(written.round, filed[0].first, written.outcomes, closed)


def _retold(old, kept, written, visit, *, by, at):
    """Return what to record of a round told again: what is new, what stays, what is struck."""
    told, left = _in_place_of(old, written.facts, visit.why_corrected, at)
    pairs = [(fact, new) for fact, new, _lines in told if fact]
    stays = carrying.carried(left, pairs, kept, row=written.round, visit=visit, by=by)
    staying = {fact.pk for fact, _copy, _lines in stays}
    gone = [fact for fact in left if fact.pk not in staying]
    strikes = [(_strike(fact, reason=visit.why_corrected, by=by), ()) for fact in gone]
    return [*((new, lines) for _fact, new, lines in (*told, *stays)), *strikes]


def _in_place_of(old, new, why, at):
    """Return (old fact or None, new fact, lines) of what is new, and the old facts left."""
    left = {}
    for fact, _lines in old:
        left.setdefault(_likeness(fact), []).append(fact)
    told = []
    for fact, lines in new:
        some = left.get(_likeness(fact))
        before = some.pop() if some else None
        if _is_answered(before, fact, at):
            continue
        if before:
            fact.corrects, fact.why_corrected = before.pk, why
        told.append((before, fact, lines))
    return told, [fact for some in left.values() for fact in some]


def _is_answered(before, fact, at):
    """Whether the tag is on the cart already, and was handed back: it stays as it is."""
    if not isinstance(before, Tag):
        return False
    return _says_the_same(before, fact) and HandBack.objects.standing().filter(tag=before).exists()


def _says_the_same(before, tag):
    """Whether two tags name the same findings: parts told again change only their order."""
    named = [set(one.reason.split("; ")) for one in (before, tag)]
    return named[0] == named[1] and before.is_critical == tag.is_critical


def _likeness(fact):
    return (type(fact), getattr(fact, "shows", ""))
