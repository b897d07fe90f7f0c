"""The carts that a manager looks after, by their sheets: what stands out of each. No writes."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext

from alignment import words
from alignment.drift import changes, moved_again, since_break
from alignment.outcomes import outcome_of
from alignment.signs import with_minus
from alignment.site_words import wording_of
from alignment.tables_sheets import sheet_url
from alignment.told_sheets import ANGLES, ToldSheet
from alignment.trend_pictures import spread_said
from alignment.trends import visit_of
from alignment.uncertainty import OUTSIDE
from alignment.verdict_marks import style_of
from shared.dates import shown_day


@dataclass(frozen=True)
class Said:
    """A value with its figure, and its verdict with the style of its mark."""

    what: str
    verdict: str
    style: str


@dataclass(frozen=True)
class Listed:
    """A cart by one of its sheets: values of it, and in words what else is to be told."""

    number: str
    day: str
    url: str
    values: Sequence[Said]
    lines: Sequence[str]


def listed(lasts: Iterable[ToldSheet], verdict: str) -> Iterator[Listed]:
    """Yield the carts of which a value has that verdict as they were left."""
    for told in lasts:
        names = told.last.outside if verdict == OUTSIDE else told.last.unsure
        if names:
            yield _listed(told, names, lines=_left_open(told))


def inside_but_open(lasts: Iterable[ToldSheet]) -> Iterator[Listed]:
    """Yield the carts of which all that was read is inside, and whose sheet closed nothing."""
    for told in lasts:
        why = _left_open(told)
        if why and not told.last.outside and not told.last.unsure:
            yield _listed(told, told.last.results, lines=why)


def moved_carts(
    newest_first: Sequence[ToldSheet], breaks: Mapping[UUID, Sequence[datetime]]
) -> Iterator[Listed]:
    """Yield the carts on which a value moved again after it was put right, with their trend."""
    of_carts = defaultdict(list)
    for told in newest_first:
        of_carts[told.fact.cart_id].append(told)
    for sheets in sorted(of_carts.values(), key=lambda told: told[0].fact.cart.number):
        last = sheets[0]
        moved = dict(_moved(sheets, breaks.get(last.fact.cart_id, ())))
        if moved:
            site = last.fact.site
            url = reverse("camber-toe-list", args=[site.slug, last.fact.cart_id])
            names = [name for name in moved if name in last.last.results]
            yield _listed(last, names, lines=list(moved.values()), url=url)


def _moved(sheets, breaks):
    """Yield (name, in words by how much) of each value that moved again."""
    for name in ANGLES:
        visits = since_break([visit_of(one, name) for one in sheets], breaks)
        if moved_again(visits):
            change = changes(visits)[-1]
            said = gettext("%(name)s moved %(change)s since %(day)s")
            yield (
                name,
                said
                % {
                    "name": words.begun(str(words.NAMES[name])),
                    "change": spread_said(change.value, change.expanded),
                    "day": _day(sheets[0].fact.site, change.since),
                },
            )


def _listed(told, names, *, lines, url=""):
    site, fact = told.fact.site, told.fact
    figure = wording_of(told.sheet, site).figure
    return Listed(
        number=fact.cart.number,
        day=_day(site, fact.done_at),
        url=url or sheet_url(fact),
        values=[_said(told, name, figure) for name in names],
        lines=lines,
    )


def _said(told, name, figure):
    result = told.last.results[name]
    return Said(
        what=words.named(told.last, [name], figure),
        verdict=words.VERDICTS[result.verdict],
        style=style_of(told.sheet, name, result),
    )


def _left_open(told):
    """Return why a sheet closed nothing, besides what is outside: that is told by its value."""
    reasons = [hold.reason for hold in outcome_of(told.fact, told.lines).holds]
    outside = words.outside(told.last) if told.last.outside else ""
    left = gettext("Left it open: %s")
    told = [one for one in reasons if not (outside and one.startswith(outside))]
    return [with_minus(left % reason) for reason in told]


def _day(site, at):
    return shown_day(site.day(at), site.date_order)
