"""One cart's facts told day by day, for tests of what falls due."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from uuid import UUID, uuid5

from fleet.gauge import Seen
from fleet.history import BookFrom, Done, Event, History, Lift
from fleet.rule_files import METRES_A_MILE, read_book
from fleet.rulebook import merge
from fleet.schedule import schedule
from fleet.usage import LifePoint

TOP = Path(__file__).parents[2]
NAMES = UUID("5b0c4c0e-7d57-4f0a-9a37-0d7a4f0b9f11")
LONG_AGO = datetime(2020, 1, 1, tzinfo=UTC)
BOOK = merge(
    read_book((TOP / app / "rules.toml").read_text(encoding="utf-8"), source="common practice")
    for app in ("fleet", "lifts", "alignment")
)
JOINTS = frozenset({"lugs", "u-bolts", "hub-nuts", "steering-joints", "other-joints"})
SHORT_CHECK = frozenset({"lugs", "u-bolts", "hub-nuts", "label"})
FIRST_CHECK = SHORT_CHECK | {"brake"}
SETTLE_CHECK = JOINTS | {"grease", "tyres", "camber-toe", "brake", "label"}
CLOSE_OUT = SETTLE_CHECK | {"stop-run", "speed", "drive"}
EVERYTHING = CLOSE_OUT | {"hub-play"}
GATHERING = frozenset({"fitting-close-out"})
CONTENTS = {
    "fitting-close-out": CLOSE_OUT,
    "first-check": FIRST_CHECK,
    "settle-check": SETTLE_CHECK,
    "second-settle-check": JOINTS | {"camber-toe"},
    "joint-round": JOINTS,
    "grease-round": frozenset({"grease"}),
    "grease-point": frozenset({"grease:{subject}"}),
    "steering-round": frozenset({"steering-joints"}),
    "camber-toe": frozenset({"camber-toe"}),
    "label-check": frozenset({"label"}),
    "tyre-check": frozenset({"tyres"}),
    "brake-check": frozenset({"brake", "stop-run"}),
    "speed-run": frozenset({"speed"}),
    "hub-play": frozenset({"hub-play"}),
    "short-check": SHORT_CHECK,
    "wheel-lugs": frozenset({"lugs:{subject}"}),
    "all-lugs": frozenset({"lugs"}),
    "u-bolt-repeat": frozenset({"u-bolts"}),
    "joint-look": frozenset({"joint:{subject}"}),
    "lock-again": frozenset({"relocked:{subject}"}),
    "jam-nuts": frozenset({"jam-nuts"}),
    "test-drive": frozenset({"drive"}),
    "baseline": EVERYTHING - {"drive"},
    "yearly-visit": EVERYTHING - {"drive"},
}


def named(name: str) -> UUID:
    return uuid5(NAMES, name)


def noon(day: date) -> datetime:
    return datetime.combine(day, time(12), UTC)


def reading(day: date, life, *, estimated: bool = False, at: datetime | None = None) -> Seen:
    life = Decimal(str(life))
    return Seen(day, LifePoint(at or noon(day), life, life, estimated))


def miles(figure) -> Decimal:
    return Decimal(str(figure)) * METRES_A_MILE


class Story:
    """A cart's facts in the making; every day's facts happen at noon, one after another."""

    def __init__(self, *, use_class: str = "rental", book=BOOK):
        self.use_class = use_class
        self.books = [BookFrom(LONG_AGO, book)]
        self.events, self.rounds, self.lifts = [], [], []
        self.hours, self.metres = [], []
        self.more = {}

    def read(self, day, hours=None, mi=None, *, estimated=False, at=None):
        if hours is not None:
            self.hours.append(reading(day, hours, estimated=estimated, at=at))
        if mi is not None:
            self.metres.append(reading(day, miles(mi), estimated=estimated, at=at))
        return self

    def fit(self, day, hours=None, mi=None, *, kit="K", name="fitting"):
        self.read(day, hours, mi)
        self.lifts.append(Lift(named(name), kit, noon(day)))
        return self.happen("fitted", day, fact=name, chapter=named(name))

    def remove(self, day):
        old = self.lifts.pop()
        gone = Lift(old.fitting_id, old.kit, old.from_at, noon(day), day, named("removal"))
        self.lifts.append(gone)
        return self

    def happen(self, name, day, subject="", *, fact=None, at=None, **more):
        fact_id = named(fact or f"{name} {subject} {day}")
        self.events.append(Event(fact_id, name, at or noon(day), day, subject, **more))
        return self

    def round(self, day, hours=None, mi=None, *, did=EVERYTHING, name=None, at=None, **found):
        """Do a round; ``found`` are the pieces ``held`` and ``left_out``, and joints ``missed``."""
        at = at or noon(day)
        self.read(day, hours, mi, at=at)
        fact_id = named(name or f"round {day}")
        for joint in found.pop("missed", ()):
            self.happen(
                "not-reached", day, joint, fact=f"{fact_id} {joint}", at=at, found_in=fact_id
            )
        about = {what: frozenset(pieces) for what, pieces in found.items()}
        self.rounds.append(Done(fact_id, at, day, frozenset(did), **about))
        return self

    def history(self, **changed) -> History:
        parts = {
            "books": tuple(self.books),
            "contents": CONTENTS,
            "gathering": GATHERING,
            "events": tuple(self.events),
            "rounds": tuple(self.rounds),
            "lifts": tuple(self.lifts),
            "use_classes": ((LONG_AGO, self.use_class),),
            "hours": tuple(self.hours),
            "metres": tuple(self.metres),
        }
        return History(**{**parts, **self.more, **changed})


def days_after(day: date, days: int) -> date:
    return day + timedelta(days=days)


FITTED_ON = date(2026, 3, 2)


def fitted() -> Story:
    """Cart 214 is fitted at 412.0 h, 1,850.0 mi, and its fitting closed that day."""
    return Story().fit(FITTED_ON, "412.0", "1850.0").round(FITTED_ON, name="close-out")


def rechecks(story, code, **changed):
    return [one for one in schedule(story.history(**changed)) if one.rule_code == code]


def only(story, code, **changed):
    (one,) = rechecks(story, code, **changed)
    return one


def standing(story, **changed):
    return {
        (one.rule_code, one.subject): one
        for one in schedule(story.history(**changed))
        if not one.ended
    }


def slow() -> Story:
    """Cart 309 runs 3 h in its first thirty days."""
    story = fitted().round(date(2026, 3, 5), "412.5", did=FIRST_CHECK)
    for day, hours in ((12, "413.0"), (22, "414.0")):
        story.read(date(2026, 3, day), hours)
    return story.read(date(2026, 4, 1), "415.0")


def settled() -> Story:
    story = fitted().round(date(2026, 3, 4), "414.0", did=FIRST_CHECK)
    story.round(date(2026, 3, 28), "436.0", did=SETTLE_CHECK)
    return story.round(date(2026, 5, 20), "500.0", did=JOINTS | {"camber-toe"})
