"""The state of each wrench of a site, from the facts that stand within a cut.

A constant number of queries, however many wrenches hang there.
"""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q, Sum
from django.utils.translation import gettext_lazy as _

from lifts import wrench_standing
from lifts.models import (
    JointPart,
    Look,
    Wrench,
    WrenchCertificate,
    WrenchCheck,
    WrenchEvent,
    WrenchPoint,
    WrenchState,
)
from lifts.torque import read_stages
from lifts.wrench_error import ErrorPoint, is_out_of_tolerance
from lifts.wrench_standing import CALIBRATED, CHECKED, Befell, Doubt, life_of
from shared.columns import fit_to_columns
from shared.dates import shown_day
from shared.models import Change

WRENCH = "wrench"


@dataclass(frozen=True)
class Standing:
    """A wrench at a moment: its state and why, when it is due, what it was last left with.

    ``due_on`` is the last day of its certificate; ``pulls`` are those since then. ``doubt``
    is what put it in doubt, in a state of that name or under a withdrawn one.
    """

    wrench: Wrench
    state: WrenchState
    why: str
    due_on: date | None
    pulls: int
    most_pulls: int
    interval_days: int
    last_good_at: datetime | None
    points: tuple[ErrorPoint, ...]
    check_due_on: date | None = None
    doubt: Doubt | None = None

    @property
    def is_good(self):
        return self.state == WrenchState.GOOD


def standings(site, cut) -> list[Standing]:
    """Return the standing of every wrench that the site had within the cut, by name."""
    return _standings(site, wrenches_at(site, cut), cut)


def standing_of(wrench, cut) -> Standing:
    return _standings(wrench.site, [wrench], cut)[0]


def last_good_before(wrench, at, cut) -> datetime | None:
    """Return when the wrench was last known to be good before a moment, None for never."""
    story = Lives(wrench.site, [wrench], cut).stories[wrench.pk]
    return life_of(one for one in story if one.at < at).last_good_at


def wrenches_at(site, cut) -> list[Wrench]:
    """Return the wrenches as the changes within the cut tell of them, by name."""
    told = Change.objects.filter(site=site, what=WRENCH).known(cut.happened_by, cut.known_by)
    rows = {}
    for change in told.standing(cut.known_by).order_by("received_at", "id"):
        row = wrench_row(change)
        first = rows.get(row.pk, row)
        row.from_at, row.site = first.from_at, site
        rows[row.pk] = row
    return sorted(rows.values(), key=lambda row: row.name)


def wrench_row(change) -> Wrench:
    """Return the wrench that a change says, unsaved; ``from_at`` is right for its first."""
    about = {name: said for name, said in change.value.items() if name != WRENCH}
    row = Wrench(site_id=change.site_id, from_at=change.done_at, **about)
    row.pk = change.value.get(WRENCH, change.pk)
    fit_to_columns(row)
    return row


def _standings(site, wrenches, cut):
    if not wrenches:
        return []
    lives = Lives(site, wrenches, cut)
    told = {wrench.pk: life_of(lives.stories[wrench.pk]) for wrench in wrenches}
    pulls = _pulls({pk: life.calibrated for pk, life in told.items()}, cut)
    today = site.day(cut.happened_by)
    return [
        _standing(wrench, told[wrench.pk], today, pulls[wrench.pk], lives) for wrench in wrenches
    ]


def _standing(wrench, life, today, pulls, lives):
    state, reason = wrench_standing.state_of(life, today, pulls)
    last = life.calibrated and lives.certificates[life.calibrated.id]
    return Standing(
        wrench,
        WrenchState(state),
        _why(reason, life, wrench.site.date_order),
        life.due_on,
        pulls,
        life.most_pulls,
        life.interval_days,
        life.last_good_at,
        tuple(left_points(last)) if last else (),
        life.check_due_on,
        life.doubt,
    )


class Lives:
    """The stories of wrenches by their id, their facts, and certificates' points, by fact."""

    def __init__(self, site, wrenches, cut):
        ids = [wrench.pk for wrench in wrenches]
        self.site = site
        self.certificates, self.facts = {}, {}
        facts = []
        for model, tell in (
            (WrenchCertificate, self._calibration),
            (WrenchCheck, self._check),
            (WrenchEvent, self._event),
        ):
            rows = list(standing_facts(model, cut).filter(wrench__in=ids))
            if model is WrenchCertificate:
                self.certificates = points_of(rows)
            self.facts |= {row.pk: row for row in rows}
            facts += [(row.wrench_id, tell(row)) for row in rows]
        self.stories = defaultdict(list)
        for wrench_id, befell in sorted(facts, key=lambda fact: (fact[1].at, fact[1].id)):
            self.stories[wrench_id].append(befell)

    def _calibration(self, row):
        points = self.certificates[row.pk]
        found_out = is_out_of_tolerance(found_points(points), row.tolerance)
        left_out = is_out_of_tolerance(left_points(points), row.tolerance)
        return self._befell(CALIBRATED, row, found_out=found_out, left_out=left_out)

    def _check(self, row):
        return self._befell(CHECKED, row, found_out=not row.is_good)

    def _event(self, row):
        return self._befell(row.what, row)

    def _befell(self, what, row, **found):
        day = self.site.day(row.done_at)
        return Befell(what, row.pk, row.done_at, day, row.received_at, **found)


def standing_facts(model, cut):
    return model.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)


def points_of(certificates) -> dict:
    """Return {certificate id: its points}, with one query."""
    found = {row.pk: [] for row in certificates}
    for point in WrenchPoint.objects.filter(fact__in=list(found)).order_by("fact", "place"):
        found[point.fact_id].append(point)
    return found


def found_points(points) -> list[ErrorPoint]:
    return [ErrorPoint(float(point.set_nm), float(point.as_found)) for point in points]


def left_points(points) -> list[ErrorPoint]:
    return [ErrorPoint(float(point.set_nm), float(point.as_left)) for point in points]


def turned_looks(cut):
    """Return the standing looks that pulled a nut.

    One that was not reached, is gone, or is firm with its pin in is not pulled.
    """
    is_only_seen = Q(pin=Look.Pin.UNDISTURBED, found=Look.Found.FIRM)
    untouched = Q(found__in=(Look.Found.NOT_REACHED, Look.Found.GONE)) | is_only_seen
    looks = Look.objects.filter(fact__in=standing_facts(JointPart, cut))
    return looks.exclude(untouched, action="")


def _pulls(calibrations, cut):
    """Return {wrench id: its pulls since its calibration}, added up in the database.

    A look at a joint pulls once at each of its nuts, once more for each stage of tightening.
    """
    since = Q(pk__in=())
    for wrench_id, last in calibrations.items():
        after = Q(fact__done_at__gt=last.at) if last else Q()
        since |= Q(wrench=wrench_id) & after
    looks = turned_looks(cut).filter(since).order_by()
    pulls = dict.fromkeys(calibrations, 0)
    by_stages = looks.values_list("wrench", "joint__stages", "action").annotate(Sum("joint__count"))
    for wrench_id, stages, action, nuts in by_stages:
        pulls[wrench_id] += nuts * (_stage_count(stages) if action else 1)
    return pulls


def _stage_count(text):
    try:
        return len(read_stages(text))
    except ValueError:
        # an old kit's stages may be in any words
        return 1


def _why(reason, life, order):
    if not reason:
        return ""
    days = {
        "due": life.due_on,
        "check": life.check_due_on,
        "doubt": life.doubt and life.doubt.day,
        "out": life.out and life.out.day,
    }
    holes = {name: day and shown_day(day, order) for name, day in days.items()}
    return str(_WORDS[reason]) % {**holes, "most": life.most_pulls}


_WORDS = {
    wrench_standing.NEVER: _("no certificate on record"),
    wrench_standing.DAY_PAST: _("its certificate held until %(due)s"),
    wrench_standing.PULLED: _("pulled %(most)s times since its certificate"),
    wrench_standing.CHECK_LATE: _("its quick check was due on %(check)s"),
    wrench_standing.CHECK_FAILED: _(
        "failed the quick check of %(doubt)s: doubted until a new certificate"
    ),
    wrench_standing.LEFT_OUT: _(
        "left out of tolerance by its certificate of %(doubt)s: doubted until a new one"
    ),
    wrench_standing.DROPPED: _("dropped on %(doubt)s: doubted until a new certificate"),
    wrench_standing.ABUSED: _(
        "overloaded or misused on %(doubt)s: doubted until a new certificate"
    ),
    wrench_standing.WITHDRAWN: _("out of use since %(out)s"),
}
