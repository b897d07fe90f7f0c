"""What a cart has run since its lift was fitted, and whether the lift has settled by that."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from alignment.needed import needed
from alignment.specs import on_at
from fleet import reach
from fleet.due import Terms, settled
from fleet.gather import ground_of, history_of
from fleet.gauge import Gauge, Seen
from fleet.history import History
from fleet.kinds import Chapter, Cut
from fleet.models import Cart
from fleet.reach import Limits
from fleet.standing import running_for_dates

METRES_A_KM = 1000
# half of 25 h or 100 mi, by when springs and bushings have taken set
USUAL = Limits(hours=Decimal("12.5"), metres=Decimal("80467.2"))
NO_SOURCE = "common practice, no source"


@dataclass(frozen=True)
class Use:
    """What a cart has run since the fitting, by each of its meters; None where none was read.

    ``is_settled``: ``enough`` was reached on either meter. ``is_estimated``: a figure rests on
    an estimated reading. ``enough`` is from when the rule book in force at the fitting takes a
    first settle check, else the usual; ``source`` says whose that is.
    """

    hours: Decimal | None
    km: Decimal | None
    is_settled: bool
    is_estimated: bool
    enough: Limits
    source: str


def use_since_fitting(cart: Cart, cut: Cut) -> Use | None:
    """Return the use since the fitting within a cut; None without a lift, or where none is known.

    A meter first read after the fitting counts from there, and tells nothing until it is read
    again. A constant number of queries.
    """
    facts = running_for_dates([cart.pk], cut)[cart.pk]
    chapter = on_at(facts.chapters, cut).get(cart.pk)
    if chapter is None:
        return None
    marks = [chapter.from_at, *(meter.done_at for meter in facts.meters)]
    facts.readings = needed(facts.readings, marks)
    ground = ground_of([facts], cut)
    history = history_of(facts, ground)
    both = reach.Use(Gauge(history.hours), Gauge(history.metres))
    anchor = both.anchor(chapter.from_at, ground.day(cart.site_id, chapter.from_at))
    return _since(anchor, both, *_enough(history, chapter))


def _since(anchor: reach.Anchor, both: reach.Use, enough: Limits, source: str) -> Use | None:
    last = [_last_of_two(gauge, anchor.at) for gauge in (both.hours, both.metres)]
    if not any(last):
        return None
    hours, metres = map(_run, last, (anchor.hours, anchor.metres))
    return Use(
        hours=hours,
        km=None if metres is None else metres / METRES_A_KM,
        is_settled=settled(Terms(enough, opens=enough), anchor, both) is not None,
        is_estimated=any(seen is not None and seen.point.estimated for seen in last),
        enough=enough,
        source=source,
    )


def _last_of_two(gauge: Gauge, at: datetime) -> Seen | None:
    """Return the last reading since a moment, where another before it tells what was run."""
    last = gauge.last_since(at)
    is_first = last is not None and last is gauge.seen[0] and last.point.at > at
    return None if is_first else last


def _run(seen: Seen | None, from_life: Decimal | None) -> Decimal | None:
    """Return the life from a start to a reading; an estimate may lie below its start."""
    if seen is None:
        return None
    return max(seen.point.life - (from_life or 0), Decimal(0))


def _enough(history: History, chapter: Chapter) -> tuple[Limits, str]:
    """Return the least use that a rule of settling asks for on that lift, and its source."""
    book, at = history.book_at(chapter.from_at), chapter.from_at
    carts = {"use_class": history.use_class_at(at), "kit": chapter.kit_code}
    rules = [book.rule_for(code, **carts) for code in sorted(book.by_code)]
    settling = [rule for rule in rules if rule and rule.settles and rule.opens.hours is not None]
    first = min(settling, key=lambda rule: rule.opens.hours, default=None)
    return (first.opens, first.source or NO_SOURCE) if first else (USUAL, NO_SOURCE)
