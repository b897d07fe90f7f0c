"""Daylight saving and other moves of a zone's clock, against the mornings of daily mails."""

from collections import Counter
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import available_timezones

from deploy.faults.listed import fault
from deploy.faults.local_days import LocalDays
from fleet.actions import digests, sites
from fleet.models import Digest
from fleet.reminding import site_days
from shared import clock
from shared.models import Person

FIRST, LAST = date(2024, 1, 1), date(2035, 12, 31)
# a day left out, moves by half an hour or at 0:01, or twice a year around Ramadan
APART = (
    ("Pacific/Apia", date(2011, 9, 1), date(2012, 4, 30)),
    ("Pacific/Kwajalein", date(1993, 8, 1), date(1993, 9, 30)),
    ("Australia/Lord_Howe", date(2008, 1, 1), date(2023, 12, 31)),
    ("Africa/Casablanca", date(2008, 1, 1), date(2023, 12, 31)),
    ("America/St_Johns", date(2006, 1, 1), date(2011, 12, 31)),
)
HARD = (
    *("America/Nuuk", "America/Scoresbysund", "Antarctica/Troll", "Pacific/Chatham"),
    *("Australia/Lord_Howe", "Africa/Casablanca", "America/Havana", "Africa/Cairo"),
    *("America/Santiago", "Asia/Beirut", "Atlantic/Azores", "America/New_York"),
    *("Europe/London", "Europe/Dublin", "Asia/Gaza", "America/St_Johns", "Pacific/Norfolk"),
    *("Australia/Adelaide", "Asia/Jerusalem", "Europe/Chisinau", "America/Miquelon"),
    *("Pacific/Easter", "America/Asuncion", "Asia/Almaty", "Africa/El_Aaiun", "Asia/Kolkata"),
    *("Pacific/Kiritimati", "Pacific/Pago_Pago", "Etc/UTC", "Asia/Kathmandu"),
)
USUAL_HOUR = 6
HOURS_ASKED = {True: range(24), False: (USUAL_HOUR,)}
# the days that these left out (IANA tz database)
LEFT_A_DAY_OUT = {"Pacific/Apia": date(2011, 12, 30), "Pacific/Kwajalein": date(1993, 8, 21)}
LAST_YEARS = 2025
SHORT_ZONES, SHORT_MOVES = 6, 2
BEFORE, AFTER = timedelta(hours=30), timedelta(hours=54)
LOOK_EVERY = timedelta(minutes=30)


@fault("F13", "DST", "every zone's mornings over twelve years", short=8, long=10_000)
def daylight(world, count, tally):
    """``count`` zones, the hard ones first; every hour of a day is asked near a move."""
    names = sorted(available_timezones())
    world.random.shuffle(names)
    names = [*HARD, *(name for name in names if name not in HARD)][:count]
    found = Counter()
    for span in [*((name, FIRST, LAST) for name in names), *APART]:
        _ask(LocalDays(*span), found)
    tally.say(zones=len(names), days=found["days"], mornings=found["mornings"])
    tally.exactly(missing=(found["missing"], 0), double=(found["double"], 0))
    tally.exactly(wrong_local_hour=(found["wrong"], 0))
    tally.say(left_out_hours=found["moved"], left_out_days=found["no day"])
    _plan(world, tally, is_long=world.order.is_long)


def _ask(zone, found):
    """Ask the tool for the mornings of a zone's days; count those that are wrong."""
    mornings = {}
    for day in zone.days:
        found["days"] += 1
        for hour in HOURS_ASKED[zone.is_near_a_move(day)]:
            wanted = morning(zone, day, hour, found)
            told = clock.morning_of(day, hour, zone.name)
            is_of_day = clock.day_at(zone.name, told) == day
            # a sweep plans for the day that it is alone
            found["missing"] += wanted is not None and not is_of_day
            found["wrong"] += wanted != (told if is_of_day else None)
            found["mornings"] += is_of_day
            found["double"] += is_of_day and mornings.setdefault((hour, told), day) != day


def morning(zone, day, hour, found):
    """Return when a day's mail is owed by the zone's moves; None for a day that is not there."""
    at = zone.first_at(day, hour)
    if at is None and hour and zone.first_at(day, 0):
        # the day's last hour is left out
        at = zone.first_at(day, hour - 1)
    found["no day"] += at is None and hour == USUAL_HOUR
    found["moved"] += at is not None and zone.wall_at(at).time() != time(hour)
    return at


def _plan(world, tally, *, is_long):
    """Have the real planner look every half an hour around moves, in zones at once."""
    zones = _zones_looked_at(is_long)
    people = {name: _somebody(world, zone) for name, zone in zones.items()}
    looks = _looks(world, zones, is_long)
    wanted = {}
    for at in looks:
        digests.plan(site_days(at), at=at)
        for name, zone in zones.items():
            day = zone.wall_at(at).date()
            owed_at = morning(zone, day, people[name].home_site.digest_hour, Counter())
            if owed_at <= at:
                wanted.setdefault((people[name].pk, day), at)
    rows = Digest.objects.order_by("pk").values_list("person_id", "day", "planned_at")
    planned = {(person, day): at for person, day, at in rows}
    tally.say(planned_zones=len(zones), looks=len(looks), planned=len(planned))
    tally.exactly(
        planned_wrong=(len(planned.items() ^ wanted.items()), 0),
        planned_twice=(len(rows) - len(planned), 0),
        out_of_order=(sum(_days(planned, one) != _days(wanted, one) for one in people.values()), 0),
    )


def _days(mornings, person):
    return [day for one, day in mornings if one == person.pk]


def _zones_looked_at(is_long):
    first, last = date(1993, 6, 1), date(2026, 12, 31)
    named = [*LEFT_A_DAY_OUT, *(HARD if is_long else HARD[:SHORT_ZONES])]
    return {name: LocalDays(name, first, last) for name in named}


def _somebody(world, zone):
    """Found a site of the zone; return its manager, whose mail is owed at any hour of the day."""
    slug = zone.name.lower().replace("/", "-").replace("_", "-")
    hour = 23 if zone.name == HARD[0] else world.random.choice((0, 1, 2, 3, USUAL_HOUR, 23))
    values = {"slug": slug, "name": zone.name, "zone": zone.name, "digest_hour": hour}
    person = Person(email=f"manager@{slug}.example", name=zone.name)
    sites.found_site(values, person, at=noon_utc(zone.first))
    return person


def _looks(world, zones, is_long):
    moves = {at for zone in zones.values() for at in zone.moves if at.year >= LAST_YEARS}
    if not is_long:
        moves = {*world.random.sample(sorted(moves), SHORT_MOVES), *zones[HARD[0]].moves[-2:-1]}
    moves |= {noon_utc(day) for day in LEFT_A_DAY_OUT.values()}
    steps = range(-BEFORE // LOOK_EVERY, AFTER // LOOK_EVERY)
    return sorted(
        {at.replace(minute=0, second=0) + step * LOOK_EVERY for at in moves for step in steps}
    )


def noon_utc(day):
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
