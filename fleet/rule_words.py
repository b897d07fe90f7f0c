"""A rule in plain words, its limits in the units of the site."""

from dataclasses import dataclass, field

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from fleet.due import Limits
from fleet.kinds import register
from fleet.models import UseClass
from fleet.rulebook import (
    CLOSED_STARTS,
    FROM_DUE,
    NO_LEEWAY,
    OPENS_AT_ONCE,
    WAITS_STARTS,
    Book,
    Rule,
)
from shared.units import shown

RANK_WORDS = {
    "maker": gettext_lazy("the lift's maker"),
    "cart maker": gettext_lazy("the cart's maker"),
    "law or insurer": gettext_lazy("law or insurer"),
    "site": gettext_lazy("this site"),
    "default": gettext_lazy("the default book"),
}
OWN_EVENTS = {
    "woken": gettext_lazy("the cart is woken from a lay-up"),
    "tyre-size": gettext_lazy("the tyre size changes"),
    "started-up": gettext_lazy("the lift is older than the records of the site"),
    "not-reached": gettext_lazy("a joint was not reached in a round"),
}
STEP_WORDS = (gettext_lazy("first"), gettext_lazy("second"), gettext_lazy("third"))


@dataclass(frozen=True)
class Card:
    """A rule as it stands in the book: title, its main words, (heading, words) of all it says.

    ``place`` is its place in the version; ``holds`` is False where others go before it
    for every cart, ``is_new`` whether this version brought it.
    """

    place: int
    rule: Rule
    title: str
    due: str
    when: str
    carts: str
    lines: list[tuple[str, str]] = field(default_factory=list)
    holds: bool = True
    is_new: bool = False

    @property
    def is_changeable(self):
        """A rule without limits of its own takes over those of another."""
        return bool(self.rule.rungs)

    @property
    def is_default(self):
        return self.rule.rank == "default"


def cards(book: Book, units, before: Book | None = None) -> list[Card]:
    """Return the book's rules in the order of their kinds of work."""
    order = {code: place for place, code in enumerate(register.kinds)}
    known = set() if before is None else set(map(repr, before.rules))
    made = [
        Card(
            place,
            rule,
            kind_title(rule.kind),
            due_words(rule, units),
            _joined([start_words(start) for start in rule.starts]),
            _carts(rule),
            lines_of(rule, units),
            holds=_holds(book, rule),
            is_new=before is not None and repr(rule) not in known,
        )
        for place, rule in enumerate(book.rules)
    ]
    return sorted(made, key=lambda card: (order.get(card.rule.kind, len(order)), card.place))


def _holds(book, rule):
    """Whether there can be a cart for which the book chooses this rule."""
    kits = rule.kits or (None, "a kit without rules of its own")
    return any(
        book.rule_for(rule.code, use_class=use_class, kit=kit) is rule
        for use_class in rule.use_classes or UseClass.values
        for kit in kits
    )


def kind_title(code):
    kind = register.kinds.get(code)
    return str(kind.title) if kind else capfirst(code.replace("-", " "))


def lines_of(rule: Rule, units) -> list[tuple[str, str]]:
    """Return (heading, words) of all that a rule says."""
    lines = [
        (_("Starts when"), _joined([start_words(start) for start in rule.starts])),
        (_("Due"), due_words(rule, units)),
        (_("Opens"), _opens(rule, units)),
        (_("Leeway"), leeway_words(rule, units)),
        (_("Stop"), stop_words(rule, units)),
        (_("Carts"), _carts(rule)),
        (_("Asked for by"), _asked_by(rule)),
    ]
    return [(heading, words) for heading, words in lines if words]


def start_words(start):
    prefix, _colon, kind = start.rpartition(":")
    if f"{prefix}:" == CLOSED_STARTS:
        return _("the work “%s” is done") % kind_title(kind)
    if f"{prefix}:" == WAITS_STARTS:
        return _("“%s” waits for use past its day") % kind_title(kind)
    events = {**OWN_EVENTS, **register.events}
    return str(events.get(start, start.replace("-", " ")))


def due_words(rule, units):
    if not rule.rungs:
        return _("as the recheck that was closed without it")
    steps = [limit_words(limit, units) for limit in rule.ladder]
    if len(steps) > 1 or (steps and rule.every):
        named = zip(map(step_words, range(len(steps))), steps, strict=True)
        steps = [f"{name}: {words}" for name, words in named]
    if rule.every:
        steps.append(_("every %s") % limit_words(rule.every, units))
    return "; ".join(steps)


def step_words(place):
    if place < len(STEP_WORDS):
        return str(STEP_WORDS[place])
    return _("number %d") % (place + 1)


def limit_words(limit: Limits, units):
    """Return "5 h, 25 mi or 3 days, whichever comes first"."""
    parts = amounts(limit, units)
    if limit == Limits(days=0):
        return _("the same day")
    if len(parts) > 1:
        return _("%s, whichever comes first") % _joined(parts)
    return "".join(parts)


def amounts(limit: Limits, units):
    """Return each part of a limit with its unit, in the order hours, distance, days."""
    days = limit.days
    return [
        *([_figure(limit.hours, "hours", units)] if limit.hours is not None else []),
        *([_figure(limit.metres, "distance", units)] if limit.metres is not None else []),
        *([ngettext("%d day", "%d days", days) % days] if days is not None else []),
    ]


def _figure(si, quantity, units):
    figure, _space, unit = shown(si, quantity, units).partition(" ")
    return f"{figure.removesuffix('.0')} {unit}"


def _joined(parts):
    """Return "a, b or c"."""
    if len(parts) < 2:
        return "".join(parts)
    return _("%(some)s or %(last)s") % {"some": ", ".join(parts[:-1]), "last": parts[-1]}


def _opens(rule, units):
    if not rule.rungs or rule.opens == OPENS_AT_ONCE:
        return _("at once")
    if rule.opens is None:
        return _("at 80 % of the limit or 14 days before it, whichever is earlier")
    words = _("after %s") % _joined(amounts(rule.opens, units))
    if rule.settles:
        words += ". " + _("It settles in use: with less than that, it waits past its day")
    return words


def leeway_words(rule, units):
    leeway = rule.leeway
    if leeway == NO_LEEWAY:
        return _("none") if rule.rungs else ""
    if leeway.percent is None:
        limit = Limits(leeway.days, leeway.hours, leeway.metres)
        return _joined(amounts(limit, units))
    words = _("%d %% of the limit") % leeway.percent
    if leeway.max_days is None:
        return words
    days = ngettext("%d day", "%d days", leeway.max_days) % leeway.max_days
    return _("%(share)s, at most %(days)s") % {"share": words, "days": days}


def stop_words(rule, units):
    if not rule.stop:
        return _("it never stops the cart") if rule.rungs else ""
    after = _joined(amounts(rule.stop, units))
    if rule.stop_from == FROM_DUE:
        words = _("the cart must not run %s past the limit") % after
    elif rule.stop == Limits(days=0):
        words = _("the cart must not run from the next day on until it is done")
    else:
        words = _("the cart must not run after %s from the start") % after
    if rule.stop_needs:
        needs = _joined(amounts(rule.stop_needs, units))
        words += ". " + _("Days alone stop it only with %s of use on it") % needs
    return words


def _carts(rule):
    who = [str(UseClass(name).label) for name in rule.use_classes]
    words = _("lifted carts") if rule.lifted_only else _("all carts")
    if who:
        words += ": " + ", ".join(who)
    if rule.kits:
        words += ". " + _("Kits: %s") % ", ".join(rule.kits)
    if rule.fixed:
        words += ". " + _("A lay-up does not move its days")
    if rule.unless_done:
        words += ". " + _("Not where the same round did the work")
    if rule.keeps_first:
        words += ". " + _("Found again, it keeps its first dates")
    return words


def _asked_by(rule):
    rank = str(RANK_WORDS[rule.rank])
    return f"{rank}: {_(rule.source)}" if rule.source else rank


def average_lines(book: Book, units):
    """Return (use class, "3 h and 18.6 mi a day") of each average in the book."""
    return [
        (
            UseClass(use_class).label if use_class in UseClass.values else use_class,
            _("%(hours)s and %(distance)s a day")
            % {
                "hours": _figure(average.hours_per_day, "hours", units),
                "distance": _figure(average.metres_per_day, "distance", units),
            },
        )
        for use_class, average in book.averages.items()
    ]


def lay_up_lines(book: Book, units):
    """Return (heading, words) of what the book says of lay-ups."""
    limits = book.lay_up
    void = Limits(None, limits.void_hours, limits.void_metres)
    return [
        (_("Pauses calendars for at most"), limit_words(Limits(limits.longest_days), units)),
        (_("Void with more use than"), _joined(amounts(void, units))),
    ]
