"""Rechecks as a calendar's text: iCalendar, RFC 5545, with names of RFC 7986. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from hashlib import sha256
from uuid import UUID

import icalendar
from icalendar import vText

MADE_BY = "-//fleet//rechecks//EN"
REFRESH = timedelta(hours=4)
DAY = timedelta(days=1)


@dataclass(frozen=True)
class Event:
    """A recheck on the day that it falls due. ``is_sure``: no forecast moves that day."""

    about: UUID
    day: date
    summary: str
    url: str
    is_sure: bool

    @property
    def shown(self) -> str:
        """Return a hash of what a calendar shows of it."""
        said = (self.day.isoformat(), self.summary, self.url, str(self.is_sure))
        return sha256("\0".join(said).encode()).hexdigest()


@dataclass(frozen=True)
class Edition:
    """How often an event has changed since calendars first held it, and when it did last."""

    sequence: int
    changed_at: datetime


def written(name: str, host: str, events: Iterable[tuple[Event, Edition]]) -> bytes:
    """Return the calendar as bytes, the same for the same events.

    Days are dates and no moments, so that no zone moves one; an event ends before the day
    after its own (RFC 5545, 3.6.1). It holds no alarm: a calendar looks too seldom.
    """
    calendar = icalendar.Calendar()
    calendar.add("prodid", MADE_BY)
    calendar.add("version", "2.0")
    # the library escapes what it is told is text
    calendar.add("name", vText(name))
    calendar.add("x-wr-calname", vText(name))
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    for event, edition in events:
        calendar.add_component(_component(event, edition, host))
    if not calendar.subcomponents:
        calendar.add_component(_utc())
    return calendar.to_ical()


def _utc():
    """Return a zone for a calendar without events: one component there must be (3.6)."""
    same = icalendar.TimezoneStandard()
    same.add("dtstart", datetime(1970, 1, 1))
    same.add("tzoffsetfrom", timedelta())
    same.add("tzoffsetto", timedelta())
    zone = icalendar.Timezone()
    zone.add("tzid", "UTC")
    zone.add_component(same)
    return zone


def _component(event, edition, host):
    found = icalendar.Event()
    found.add("uid", f"{event.about}@{host}")
    # without a METHOD the stamp is when it last changed (RFC 5545, 3.8.7.2)
    found.add("dtstamp", edition.changed_at)
    found.add("last-modified", edition.changed_at)
    found.add("sequence", edition.sequence)
    found.add("dtstart", event.day)
    found.add("dtend", event.day + DAY)
    found.add("summary", event.summary)
    found.add("url", event.url)
    found.add("status", "CONFIRMED" if event.is_sure else "TENTATIVE")
    found.add("transp", "TRANSPARENT")
    return found
