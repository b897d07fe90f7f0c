"""How much work comes due by week, and the mechanics' minutes it meets."""

from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import Count, Q, Sum
from django.utils.translation import gettext as _

from fleet.board import STATE_WORDS
from fleet.models import Recheck
from fleet.why_now import day_said
from shared.plots import STATES, Week, Words, work_by_week

WEEKS_SHOWN = 8
SPANS_DAYS = (0, 7, 28)


@dataclass
class Load:
    """Rechecks by the day they fall due: how many in each state, and their minutes."""

    today: date
    counts: dict[date, Counter] = field(default_factory=dict)
    minutes: Counter = field(default_factory=Counter)

    def minutes_by(self, days):
        """Return the minutes of all that is due by so many days from today."""
        last = self.today + timedelta(days=days)
        return sum(minutes for day, minutes in self.minutes.items() if day <= last)


def load_of(viewer, site, today):
    """Return the work that falls due by the last week shown, with one query."""
    rows = Recheck.objects.visible_to(viewer).active().filter(site=site)
    rows = rows.filter(due_on__lt=monday_of(today) + timedelta(weeks=WEEKS_SHOWN))
    late = Q(late_on__lte=today) | Q(stops_on__lte=today)
    reached = late | Q(due_on__lte=today)
    begun = reached | Q(opens_on__lte=today)
    by_day = rows.values("due_on").annotate(
        late=Count("pk", late),
        reached=Count("pk", reached),
        begun=Count("pk", begun),
        all=Count("pk"),
        work=Sum("minutes"),
    )
    load = Load(today)
    for row in by_day.order_by("due_on"):
        load.minutes[row["due_on"]] = row["work"]
        load.counts[row["due_on"]] = Counter(
            late=row["late"],
            due=row["reached"] - row["late"],
            open=row["begun"] - row["reached"],
            ahead=row["all"] - row["begun"],
        )
    return load


def monday_of(day):
    return day - timedelta(days=day.weekday())


def weeks_of(load, site):
    """Return the weeks of the picture: what was due before this one, then this one and on."""
    first = monday_of(load.today)
    weeks = [Week(_("before"), _counted(load, None, first))]
    for place in range(WEEKS_SHOWN):
        start = first + timedelta(weeks=place)
        counts = _counted(load, start, start + timedelta(weeks=1))
        weeks.append(Week(day_said(start, load.today, site), counts))
    return weeks


def _counted(load, since, before):
    counts = Counter()
    for day, found in load.counts.items():
        if (since is None or since <= day) and day < before:
            counts += found
    return dict(counts)


def picture_of(load, site):
    """Return the drawing of the work coming due by week, as SVG text."""
    weeks = weeks_of(load, site)
    told = "; ".join(f"{week.name}: {week.total}" for week in weeks)
    words = Words(_("Work coming due by week"), told)
    names = {state: str(STATE_WORDS[state]) for state in STATES}
    return work_by_week(weeks, words=words, names=names)


def minutes_on_hand(site, today, days):
    """Return the mechanics' minutes from today through so many days on, closures left out."""
    span = [today + timedelta(days=place) for place in range(days + 1)]
    worked = [
        day
        for day in span
        if str(day.isoweekday()) in site.working_days and day.isoformat() not in site.closures
    ]
    return len(worked) * site.mechanic_minutes_a_day


def spans_of(load, site):
    """Return (days, minutes of work due, mechanics' minutes) for today, a week, four weeks."""
    return [
        (days, load.minutes_by(days), minutes_on_hand(site, load.today, days))
        for days in SPANS_DAYS
    ]
