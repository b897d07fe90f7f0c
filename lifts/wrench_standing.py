"""How far a torque wrench may be believed, from what befell it and its pulls. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from lifts.wrench_error import DEFAULT_INTERVAL_DAYS, MOST_PULLS, due_on, next_interval_days

GOOD, DUE, DOUBTED, WITHDRAWN = "good", "due", "doubted", "withdrawn"

# what may befall a wrench
CALIBRATED, CHECKED = "calibrated", "checked"
DROPPED, ABUSED, RETURNED = "dropped", "abused", "returned"

# a check on one's own tester, which shortens the time in doubt; common practice, no source
CHECK_DAYS = 30
CHECK_LATE_DAYS = 14

# why a wrench is in its state
NEVER, DAY_PAST, PULLED, CHECK_LATE = "never", "day past", "pulled", "check late"
CHECK_FAILED, LEFT_OUT = "check failed", "left out"


@dataclass(frozen=True)
class Befell:
    """One thing of a wrench's life: a calibration, a check, a drop and so on.

    ``day`` is the site's, ``known_at`` when it was told. ``found_out`` and ``left_out``:
    its error was more than its tolerance, as it came and as it left; for a check only as
    it came.
    """

    what: str
    id: UUID
    at: datetime
    day: date
    known_at: datetime
    found_out: bool = False
    left_out: bool = False


@dataclass(frozen=True)
class Doubt:
    """What keeps a wrench in doubt or out of use, and since when."""

    why: str
    id: UUID
    at: datetime
    day: date
    known_at: datetime


@dataclass(frozen=True)
class Life:
    """What the life of a wrench amounts to, its pulls and today apart.

    ``checked_on`` is the day of its last calibration or check, ``last_good_at`` when it was
    last known to be within its tolerance.
    """

    calibrated: Befell | None = None
    interval_days: int = DEFAULT_INTERVAL_DAYS
    most_pulls: int = MOST_PULLS
    checked_on: date | None = None
    last_good_at: datetime | None = None
    doubt: Doubt | None = None
    out: Doubt | None = None

    @property
    def due_on(self) -> date | None:
        """The last day on which its calibration holds by the calendar."""
        return self.calibrated and due_on(self.calibrated.day, self.interval_days)

    @property
    def check_due_on(self) -> date | None:
        """The day on which its next check is due."""
        return self.checked_on and self.checked_on + timedelta(days=CHECK_DAYS)


def life_of(story: Iterable[Befell]) -> Life:
    """Return what a story amounts to, told in its own order of time.

    - A calibration starts the days and the pulls anew: half of what they were before when
      the wrench was found out of tolerance, else 365 days and 5,000 pulls (ISO 6789
      default). It ends every doubt, unless it left the wrench out of tolerance.
    - A drop or an abuse, and a check that fails, put it in doubt until the next calibration:
      a good check after that is one torque on one's own tester, and ends nothing
      (FAA AC 43.13-1B 7-40, as quoted elsewhere: calibrate at once after abuse or a drop).
    - A good check, or a calibration that left it good, is when it was last known to be good.
    """
    life = Life()
    for befell in story:
        life = _STEPS[befell.what](life, befell)
    return life


def _calibrated(life, befell):
    days = next_interval_days(befell.found_out, life.interval_days)
    pulls = next_interval_days(befell.found_out, life.most_pulls, default=MOST_PULLS)
    doubt = _doubt(LEFT_OUT, befell) if befell.left_out else None
    last_good_at = life.last_good_at if befell.left_out else befell.at
    return Life(befell, days, pulls, befell.day, last_good_at, doubt, life.out)


def _checked(life, befell):
    checked = replace(life, checked_on=befell.day)
    if befell.found_out:
        return _doubted(checked, _doubt(CHECK_FAILED, befell))
    return checked if life.doubt else replace(checked, last_good_at=befell.at)


def _hurt(life, befell):
    return _doubted(life, _doubt(befell.what, befell))


def _withdrawn(life, befell):
    return replace(life, out=life.out or _doubt(WITHDRAWN, befell))


def _returned(life, befell):
    return replace(life, out=None)


def _doubted(life, doubt):
    """Return the life in doubt; the first doubt of several is the one that counts."""
    return replace(life, doubt=life.doubt or doubt)


def _doubt(why, befell):
    return Doubt(why, befell.id, befell.at, befell.day, befell.known_at)


_STEPS = {
    CALIBRATED: _calibrated,
    CHECKED: _checked,
    DROPPED: _hurt,
    ABUSED: _hurt,
    WITHDRAWN: _withdrawn,
    RETURNED: _returned,
}


def state_of(life: Life, today: date, pulls: int) -> tuple[str, str]:
    """Return a wrench's state on a day and why; why is empty for a good one.

    ``pulls`` are those since its calibration. Withdrawn outranks doubted, that outranks due.
    It is due when it was never calibrated, its last day is past or its pulls are reached,
    or when its check is more than 14 days late.
    """
    if life.out:
        return WITHDRAWN, life.out.why
    if life.doubt:
        return DOUBTED, life.doubt.why
    if life.calibrated is None:
        return DUE, NEVER
    if pulls >= life.most_pulls:
        return DUE, PULLED
    if today > life.due_on:
        return DUE, DAY_PAST
    if today > life.check_due_on + timedelta(days=CHECK_LATE_DAYS):
        return DUE, CHECK_LATE
    return GOOD, ""
