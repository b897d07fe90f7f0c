"""What belongs to the site as a whole: its people, its rules, what was taken back."""

import json
from datetime import date

from django.utils.translation import gettext_lazy as _

from fleet.bundle.cells import moment
from fleet.bundle.columns import DAY, MOMENT, YES_NO, Column, Table, number
from fleet.default_rules import book_from_json
from fleet.models import RuleBook
from fleet.reach import NO_LIMITS, Limits
from fleet.rule_words import kind_title, leeway_words, stop_words
from shared.models import Change, Entry, Strike

METRES_A_KM = 1000
PIECE = 200


def people_rows(scope):
    """Yield each role that was given, oldest first, and whether it is the one that holds."""
    changes = list(scope.standing(Change).filter(site=scope.site, what="role"))
    last = {change.person_id: change.pk for change in changes}
    for change in changes:
        said = change.value
        to_day = said.get("to_day")
        yield {
            "person_id": change.person_id,
            "person": scope.name(change.person_id),
            "role": said["role"],
            "from_day": said["from_day"],
            "to_day": to_day,
            "may_release": bool(said.get("may_release")),
            "in_force": last[change.person_id] == change.pk and _holds(said, scope.day),
            "given_at": moment(change.done_at, scope.zone),
            "given_by": scope.name(change.by_id),
        }


def _holds(said, day):
    to_day = said.get("to_day")
    begun = date.fromisoformat(said["from_day"]) <= day
    return begun and (to_day is None or day <= date.fromisoformat(to_day))


def rule_rows(scope):
    """Yield a line for each limit of each rule, version by version."""
    known = RuleBook.objects.filter(site=scope.site, in_force_from__lte=scope.cut.known_by)
    by = dict(Change.objects.filter(pk__in=known.values("pk")).values_list("pk", "by_id"))
    for row in known.order_by("version").iterator():
        about = {
            "version": row.version,
            "in_force_from": moment(row.in_force_from, scope.zone),
            "changed_by": scope.name(by.get(row.pk)),
            "reason": row.reason,
        }
        for rule in book_from_json(row.rules).rules:
            for step, limit in _steps(rule):
                yield {**about, **_rule(rule, scope.site.units), "step": step, **_limit(limit)}


def _steps(rule):
    steps = [(str(place), limit) for place, limit in enumerate(rule.ladder, start=1)]
    if rule.every:
        steps.append(("every", rule.every))
    return steps or [("", NO_LIMITS)]


def _limit(limit: Limits):
    km = _km(limit.metres)
    return {"limit_days": limit.days, "limit_hours": limit.hours, "limit_km": km}


def _km(metres):
    return None if metres is None else metres / METRES_A_KM


def _rule(rule, units):
    opens = rule.opens if isinstance(rule.opens, Limits) else None
    at_once = not rule.rungs or isinstance(rule.opens, str)
    return {
        "rule": rule.code,
        "kind": rule.kind,
        "title": kind_title(rule.kind),
        "starts": "; ".join(rule.starts),
        "opens_at_once": at_once,
        "opens_days": opens and opens.days,
        "opens_hours": opens and opens.hours,
        "opens_km": opens and _km(opens.metres),
        "leeway": leeway_words(rule, units),
        "stop": stop_words(rule, units),
        "use_classes": "; ".join(rule.use_classes),
        "lifted_only": rule.lifted_only,
        "kits": "; ".join(rule.kits),
        "asked_by": rule.rank,
        "source": rule.source,
    }


def correction_rows(scope):
    """Yield each entry that was taken back, with what it had said."""
    entries = Entry.objects.filter(site=scope.site, received_at__lte=scope.cut.known_by)
    answers = entries.exclude(corrects=None).order_by("seq")
    for some in _in_pieces(answers.iterator(chunk_size=PIECE)):
        old = {entry.fact_id: entry for entry in entries.filter(fact_id__in=some)}
        for fact_id, answer in some.items():
            if fact_id in old:
                yield _taken_back(old[fact_id], answer, scope)


def _in_pieces(answers):
    piece = {}
    for answer in answers:
        piece[answer.corrects] = answer
        if len(piece) == PIECE:
            yield piece
            piece = {}
    yield piece


def _taken_back(old, answer, scope):
    is_struck = answer.kind == Strike.kind()
    said = json.loads(bytes(answer.body))
    return {
        "entry": old.fact_id,
        "number": old.seq,
        "kind": old.kind,
        "cart_id": old.cart_id,
        "received_at": moment(old.received_at, scope.zone),
        "taken_back_at": moment(answer.received_at, scope.zone),
        "taken_back_by": scope.name(said["by"]),
        "how": "struck" if is_struck else "corrected",
        "why": said["why_corrected"],
        "now": "" if is_struck else answer.fact_id,
        "old_value": bytes(old.body).decode(),
    }


PEOPLE = Table(
    "people.csv",
    _("roles at the site, from day to day, each time one was given"),
    (
        Column("person_id", _("the person")),
        Column("person", _("name")),
        Column("role", _("manager, mechanic, desk or surveyor")),
        Column("from_day", _("first day"), DAY),
        Column("to_day", _("last day; empty: no end"), DAY),
        Column("may_release", _("no manager, and may hand tagged carts back"), YES_NO),
        Column("in_force", _("held as of the day"), YES_NO),
        Column("given_at", _("when it was given"), MOMENT),
        Column("given_by", _("who gave it")),
    ),
    people_rows,
    per_cart=False,
)
RULES = Table(
    "rules.csv",
    _("every version of the rule book, a line for each limit of each rule"),
    (
        number("version", _("version of the rule book")),
        Column("in_force_from", _("in force from"), MOMENT),
        Column("changed_by", _("who put it in force")),
        Column("reason", _("why")),
        Column("rule", _("the rule")),
        Column("kind", _("kind of work")),
        Column("title", _("kind of work in words")),
        Column("starts", _("events that start its clock")),
        Column("step", _("which recheck from that start on: 1, 2, ..., then every")),
        number("limit_days", _("due after days, whichever limit is first"), "d"),
        number("limit_hours", _("due after hours of use"), "h"),
        number("limit_km", _("due after a true distance"), "km"),
        Column("opens_at_once", _("may be done at once"), YES_NO),
        number("opens_days", _("opens after days; all empty: 80 % or 14 days before"), "d"),
        number("opens_hours", _("opens after hours of use"), "h"),
        number("opens_km", _("opens after a true distance"), "km"),
        Column("leeway", _("how far past its limit it may be done")),
        Column("stop", _("when the cart must not run without it")),
        Column("use_classes", _("carts of these uses; empty: all")),
        Column("lifted_only", _("lifted carts alone"), YES_NO),
        Column("kits", _("carts with these kits; empty: all")),
        Column("asked_by", _("who asks for it")),
        Column("source", _("source of the rule")),
    ),
    rule_rows,
    per_cart=False,
)
CORRECTIONS = Table(
    "corrections.csv",
    _("entries that were struck or corrected, and what they had said"),
    (
        Column("entry", _("the entry taken back")),
        number("number", _("its number in the journal of the site")),
        Column("kind", _("what kind of entry")),
        Column("cart_id", _("cart that it was about")),
        Column("received_at", _("when it had arrived"), MOMENT),
        Column("taken_back_at", _("when it was taken back"), MOMENT),
        Column("taken_back_by", _("by whom")),
        Column("how", _("struck: nothing in its place; corrected: another entry")),
        Column("why", _("why")),
        Column("now", _("entry in its place")),
        Column("old_value", _("what it had said, as recorded (JSON)")),
    ),
    correction_rows,
    per_cart=False,
)
