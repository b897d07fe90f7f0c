"""The rules: every version of the book, and what changed in words from one to the next."""

from itertools import pairwise

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.bundle.cart_tables import km
from fleet.bundle.cells import moment
from fleet.bundle.columns import MOMENT, YES_NO, Column, Table, number
from fleet.default_rules import book_from_json
from fleet.models import RuleBook
from fleet.reach import NO_LIMITS, Limits
from fleet.rule_words import (
    average_lines,
    kind_title,
    lay_up_lines,
    leeway_words,
    lines_of,
    stop_words,
)
from shared.models import Change


def versions_of(scope):
    """Yield (version row, cells that name it), as of the cut, oldest first."""
    cut = min(scope.cut.happened_by, scope.cut.known_by)
    known = RuleBook.objects.filter(site=scope.site, in_force_from__lte=cut)
    by = dict(Change.objects.filter(pk__in=known.values("pk")).values_list("pk", "by_id"))
    for row in known.order_by("version").iterator():
        yield (
            row,
            {
                "version": row.version,
                "in_force_from": moment(row.in_force_from, scope.zone),
                "changed_by": scope.name(by.get(row.pk)),
                "reason": row.reason,
            },
        )


VERSION = (
    number("version", gettext_lazy("version of the rule book")),
    Column("in_force_from", gettext_lazy("in force from"), MOMENT),
    Column("changed_by", gettext_lazy("who put it in force")),
    Column("reason", gettext_lazy("why")),
)


def rule_rows(scope):
    """Yield a line for each limit of each rule, version by version."""
    for row, named in versions_of(scope):
        for rule in book_from_json(row.rules).rules:
            for step, limit in _steps(rule):
                yield {**named, **_rule(rule, scope.site.units), "step": step, **_limit(limit)}


def _steps(rule):
    steps = [(str(place), limit) for place, limit in enumerate(rule.ladder, start=1)]
    if rule.every:
        steps.append(("every", rule.every))
    return steps or [("", NO_LIMITS)]


def _limit(limit: Limits):
    return {
        "limit_days": limit.days,
        "limit_hours": limit.hours,
        "limit_km": km(limit.metres),
    }


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
        "opens_km": opens and km(opens.metres),
        "leeway": leeway_words(rule, units),
        "stop": stop_words(rule, units),
        "use_classes": "; ".join(rule.use_classes),
        "lifted_only": rule.lifted_only,
        "kits": "; ".join(rule.kits),
        "asked_by": rule.rank,
        "source": rule.source,
    }


RULES = Table(
    "rules.csv",
    gettext_lazy("every version of the rule book, a line for each limit of each rule"),
    (
        *VERSION,
        Column("rule", gettext_lazy("the rule")),
        Column("kind", gettext_lazy("kind of work")),
        Column("title", gettext_lazy("kind of work in words")),
        Column("starts", gettext_lazy("events that start its clock")),
        Column("step", gettext_lazy("which recheck from that start on: 1, 2, ..., then every")),
        number("limit_days", gettext_lazy("due after days, whichever limit is first"), "d"),
        number("limit_hours", gettext_lazy("due after hours of use"), "h"),
        number("limit_km", gettext_lazy("due after a true distance"), "km"),
        Column("opens_at_once", gettext_lazy("may be done at once"), YES_NO),
        number(
            "opens_days", gettext_lazy("opens after days; all empty: 80 % or 14 days before"), "d"
        ),
        number("opens_hours", gettext_lazy("opens after hours of use"), "h"),
        number("opens_km", gettext_lazy("opens after a true distance"), "km"),
        Column("leeway", gettext_lazy("how far past its limit it may be done")),
        Column("stop", gettext_lazy("when the cart must not run without it")),
        Column("use_classes", gettext_lazy("carts of these uses; empty: all")),
        Column("lifted_only", gettext_lazy("lifted carts alone"), YES_NO),
        Column("kits", gettext_lazy("carts with these kits; empty: all")),
        Column("asked_by", gettext_lazy("who asks for it")),
        Column("source", gettext_lazy("source of the rule")),
    ),
    rule_rows,
    per_cart=False,
)


def rule_change_rows(scope):
    """Yield what each version but the first says otherwise than the one before it."""
    units = scope.site.units
    told = ((_said(row, units), named) for row, named in versions_of(scope))
    for (before, _named), (after, named) in pairwise(told):
        for key in dict.fromkeys((*before, *after)):
            if before.get(key) != after.get(key):
                about, part = key
                told_of = {"about": about, "part": part}
                change = {"before": before.get(key, ""), "after": after.get(key, "")}
                yield {**named, **told_of, **change}


def _said(row, units):
    """Return {(what it is about, which part of it): words} of a version."""
    book = book_from_json(row.rules)
    said = {}
    for rule in book.rules:
        about = " ".join((rule.code, f"({rule.rank})", *rule.kits))
        said |= {(about, heading): words for heading, words in lines_of(rule, units)}
    averages = {(_("averages"), f"{use}"): words for use, words in average_lines(book, units)}
    lay_ups = {(_("lay-ups"), heading): words for heading, words in lay_up_lines(book, units)}
    return said | averages | lay_ups


RULE_CHANGES = Table(
    "rule_changes.csv",
    gettext_lazy("what each version of the rule book changed, in words; none acts backwards"),
    (
        *VERSION,
        Column("about", gettext_lazy("the rule, with who asks for it; or averages, lay-ups")),
        Column("part", gettext_lazy("what of it was changed")),
        Column("before", gettext_lazy("what the version before said; empty: nothing")),
        Column("after", gettext_lazy("what this version says; empty: nothing")),
    ),
    rule_change_rows,
    per_cart=False,
)
