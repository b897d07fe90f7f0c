"""How the work was done: rechecks closed on time or not, stops, tags and how long they were on."""

from collections import Counter
from decimal import Decimal
from statistics import median

from django.utils.translation import gettext_lazy as _

from fleet.bundle.figure import Figure
from fleet.due import LATE, STOPPED
from fleet.models import Recheck, RuleBook

ON_TIME, LEEWAY = "on_time", "leeway"
CLOSED = {
    ON_TIME: (
        _("rechecks closed on time"),
        _("closed by a round on or before the day on which the limit was reached"),
    ),
    LEEWAY: (
        _("rechecks closed within leeway"),
        _("closed after the limit was reached and before its leeway had passed"),
    ),
    LATE: (
        _("rechecks closed late"),
        _("closed after the leeway had passed: missed, although done later"),
    ),
    STOPPED: (
        _("rechecks closed after the stop limit"),
        _("closed after the stop limit was reached"),
    ),
}


class WorkCount:
    """Counts the rechecks that ended in the period, and the stop limits reached in it."""

    def __init__(self, scope):
        self.scope = scope
        self.closed, self.stops = Counter(), 0

    def take(self, batch):
        for cart in batch.carts:
            for row in cart.rechecks if cart.is_here else ():
                self._count(row)

    def _count(self, row):
        ended_on = self.scope.day_of(row.ended_at)
        if row.ended == Recheck.Ended.CLOSED and self._is_in(ended_on):
            self.closed[_when(row, ended_on)] += 1
        is_reached = row.stops_on is not None and row.stops_on <= (ended_on or self.scope.day)
        self.stops += is_reached and self._is_in(row.stops_on)

    def _is_in(self, day):
        first = self.scope.from_day
        return day <= self.scope.day and (first is None or first <= day)

    def figures(self, lines):
        for state, (title, definition) in CLOSED.items():
            code, count = f"closed_{state}", self.closed[state]
            yield Figure(code, title, count, _("rechecks"), definition, "rechecks.csv")
        yield Figure(
            "stops_reached",
            _("stop limits reached"),
            self.stops,
            _("rechecks"),
            _("rechecks whose stop limit was reached in the period before they were done"),
            "rechecks.csv",
        )


def _when(row, ended_on):
    if row.ended_state in (LATE, STOPPED):
        return row.ended_state
    is_past = row.due_on is not None and row.due_on < ended_on
    return LEEWAY if is_past else ON_TIME


class TagCount:
    """Counts tags put on in the period, and the days until each was handed back."""

    def __init__(self, scope):
        self.scope = scope
        self.opened, self.days = 0, Counter()

    def take(self, batch):
        for cart in batch.carts:
            backs = {back.tag_id: back for back in cart.facts.hand_backs}
            for tag in cart.own(cart.facts.tags):
                if self.scope.since and tag.done_at < self.scope.since:
                    continue
                self.opened += 1
                if tag.pk in backs:
                    out = self.scope.day_of(backs[tag.pk].done_at) - self.scope.day_of(tag.done_at)
                    self.days[out.days] += 1

    def figures(self, lines):
        closed = self.days.total()
        said = {
            "tags_opened": (_("tags put on"), self.opened, _("tags put on in the period")),
            "tags_closed": (
                _("tags handed back"),
                closed,
                _("of those, the carts returned to use as of the day"),
            ),
            "tags_open": (
                _("tags not handed back"),
                self.opened - closed,
                _("of those, the carts kept out of use still"),
            ),
        }
        for code, (title, value, definition) in said.items():
            yield Figure(code, title, value, _("tags"), definition, "tags.csv")
        yield Figure(
            "tag_days_median",
            _("median days until handed back"),
            median_of(self.days),
            _("d"),
            _("middle value of days_out over the tags handed back; empty: none was"),
            "tags.csv",
        )


def median_of(counts: Counter) -> Decimal | None:
    """Return the middle value of counted values, the mean of the middle two; None of nothing."""
    return Decimal(str(median(counts.elements()))) if counts.total() else None


class RuleCount:
    """Counts the versions of the rule book that came into force in the period."""

    def __init__(self, scope):
        self.scope = scope

    def take(self, batch):
        """Take nothing: rules are the site's."""

    def figures(self, lines):
        cut = min(self.scope.cut.happened_by, self.scope.cut.known_by)
        books = RuleBook.objects.filter(site=self.scope.site, in_force_from__lte=cut)
        if self.scope.since:
            books = books.filter(in_force_from__gte=self.scope.since)
        yield Figure(
            "rule_changes",
            _("changes of the rule book"),
            books.filter(version__gt=1).count(),
            _("versions"),
            _("versions after the first that came into force in the period; who and why beside"),
            "rule_changes.csv",
        )
