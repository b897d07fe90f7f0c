"""How many days carts were late, stopped or tagged: each day of a cart counted once. Pure.

A span is (first, last), both days counted; one whose last is before its first is no day.
"""

from collections.abc import Iterable, Mapping
from datetime import date, timedelta

Span = tuple[date, date]
DAY = timedelta(days=1)


def merged(spans: Iterable[Span]) -> list[Span]:
    """Return the days of the spans as spans in order that neither meet nor touch."""
    found: list[Span] = []
    for first, last in sorted(span for span in spans if span[0] <= span[1]):
        if found and first <= found[-1][1] + DAY:
            found[-1] = (found[-1][0], max(found[-1][1], last))
        else:
            found.append((first, last))
    return found


def common(some: Iterable[Span], others: Iterable[Span]) -> list[Span]:
    """Return the days that lie in a span of both."""
    others = merged(others)
    met = [(max(one[0], two[0]), min(one[1], two[1])) for one in merged(some) for two in others]
    return merged(met)


def days_of(spans: Iterable[Span]) -> int:
    """Return how many days the spans hold, each counted once."""
    return sum((last - first).days + 1 for first, last in merged(spans))


def days_by_state(
    within: Iterable[Span], spans: Mapping[str, Iterable[Span]], rest: str
) -> dict[str, int]:
    """Return {state: days}, gravest first as ``spans`` gives them, and those of no state.

    A day of several states counts for the first of them alone, so that the days add up to
    those of ``within``.
    """
    within, claimed, counted = merged(within), [], {}
    for state, own in spans.items():
        before = days_of(claimed)
        claimed = merged([*claimed, *common(own, within)])
        counted[state] = days_of(claimed) - before
    counted[rest] = days_of(within) - days_of(claimed)
    return counted
