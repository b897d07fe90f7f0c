"""A calendar as text, against RFC 5545 and read back by the library's own reader."""

from datetime import UTC, date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

import icalendar
import pytest

from fleet.calendar_text import Edition, Event, written

ABOUT = UUID("01a21705-7b4c-7dd8-9cdc-d8b8517d394d")
CHANGED = datetime(2026, 3, 2, 13, 0, 5, tzinfo=UTC)
LINE_OCTETS = 75


def an_event(**changes):
    about = {"about": ABOUT, "day": date(2026, 3, 8), "summary": "Cart 7: First check"}
    return Event(**about | {"url": "http://127.0.0.1:8000/x/carts/7/", "is_sure": True} | changes)


def text_of(*events, name="Rechecks at North", sequence=0):
    return written(name, "fleet.example", [(one, Edition(sequence, CHANGED)) for one in events])


def test_an_event_word_for_word():
    text = text_of(an_event(), sequence=3)

    # RFC 5545: 3.6.1 an all-day event, 3.3.4 DATE, 3.8.7.2 the stamp without a METHOD,
    # 3.8.2.7 TRANSPARENT; the names of a calendar and of its refresh are RFC 7986's
    assert sorted(text.decode().split("\r\n")) == sorted(
        [
            "BEGIN:VCALENDAR",
            "VERSION:2.0",
            "PRODID:-//fleet//rechecks//EN",
            "NAME:Rechecks at North",
            "X-WR-CALNAME:Rechecks at North",
            "REFRESH-INTERVAL;VALUE=DURATION:PT4H",
            "BEGIN:VEVENT",
            "UID:01a21705-7b4c-7dd8-9cdc-d8b8517d394d@fleet.example",
            "DTSTAMP:20260302T130005Z",
            "LAST-MODIFIED:20260302T130005Z",
            "SEQUENCE:3",
            "DTSTART;VALUE=DATE:20260308",
            "DTEND;VALUE=DATE:20260309",
            "SUMMARY:Cart 7: First check",
            "URL:http://127.0.0.1:8000/x/carts/7/",
            "STATUS:CONFIRMED",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
            "END:VCALENDAR",
            "",
        ]
    )


@pytest.mark.parametrize(
    ("day", "after"),
    [
        # the clocks change in New York on the first; the third is a leap day
        (date(2026, 3, 8), date(2026, 3, 9)),
        (date(2026, 12, 31), date(2027, 1, 1)),
        (date(2028, 2, 29), date(2028, 3, 1)),
        # a day that Samoa never lived (IANA tz database)
        (date(2011, 12, 30), date(2011, 12, 31)),
    ],
)
def test_an_event_ends_before_the_day_after_its_own(day, after):
    (event,) = icalendar.Calendar.from_ical(text_of(an_event(day=day))).events

    assert (event.decoded("dtstart"), event.decoded("dtend")) == (day, after)
    assert type(event.decoded("dtstart")) is date


def test_a_calendar_without_events_has_its_one_component():
    # RFC 5545 3.6: one or more components, and 3.6.5 what a VTIMEZONE must have
    text = text_of()

    assert text.count(b"BEGIN:VTIMEZONE\r\nTZID:UTC\r\nBEGIN:STANDARD\r\n") == 1
    for line in (b"DTSTART:19700101T000000", b"TZOFFSETFROM:+0000", b"TZOFFSETTO:+0000"):
        assert b"\r\n" + line + b"\r\n" in text
    assert icalendar.Calendar.from_ical(text).events == []
    assert b"VTIMEZONE" not in text_of(an_event())


def test_a_forecast_day_is_tentative():
    (event,) = icalendar.Calendar.from_ical(text_of(an_event(is_sure=False))).events

    assert event["status"] == "TENTATIVE"


def test_no_event_alarms():
    assert b"VALARM" not in text_of(an_event())


@pytest.mark.parametrize("shift", range(5))
def test_lines_are_folded_at_75_octets_and_no_letter_is_cut(shift):
    # RFC 5545 3.1: at most 75 octets without the break, which is CRLF and a space
    summary = "x" * shift + "é港🔧" * 40
    text = text_of(an_event(summary=summary))

    lines = text.split(b"\r\n")
    assert max(len(line) for line in lines) <= LINE_OCTETS
    assert len([line for line in lines if line.startswith(b" ")]) >= len(summary) // LINE_OCTETS
    for line in lines:
        line.decode()
    assert b"\n" not in text.replace(b"\r\n", b"")
    assert icalendar.Calendar.from_ical(text).events[0]["summary"] == summary


def escaped(text):
    for letter in ("\\", ";", ","):
        text = text.replace(letter, f"\\{letter}")
    return text.replace("\n", "\\n")


@pytest.mark.parametrize(
    "number", ["7,8", "7;8", "7\\n8", "7\n8", "7\r\nEND:VEVENT\r\nX:8", '"7"', "7:8"]
)
def test_what_a_person_typed_stays_one_value(number):
    # RFC 5545 3.3.11: \\ \; \, and \n
    text = text_of(an_event(summary=f"Cart {number}: First check"), name=f"Site {number}")

    read = icalendar.Calendar.from_ical(text)
    plain = number.replace("\r\n", "\n")
    assert [str(one["summary"]) for one in read.events] == [f"Cart {plain}: First check"]
    # the library's reader leaves properties that are not RFC 5545's as they were escaped
    assert read["name"] == read["x-wr-calname"] == escaped(f"Site {plain}")
    assert text.count(b"END:VEVENT\r\n") == 1
    assert b"\r\nX:8" not in text


def test_escaping_is_as_the_rfc_writes_it():
    text = text_of(an_event(summary="a\\b; c, d\ne"))

    assert b"\r\nSUMMARY:a\\\\b\\; c\\, d\\ne\r\n" in text


def test_the_same_events_make_the_same_bytes():
    assert text_of(an_event()) == text_of(an_event())


@pytest.mark.parametrize(
    "change",
    [
        {"day": date(2026, 3, 9)},
        {"summary": "Cart 7: First check (late)"},
        {"url": "http://127.0.0.1:8000/x/carts/8/"},
        {"is_sure": False},
    ],
)
def test_each_thing_shown_changes_the_hash_of_what_is_shown(change):
    assert an_event(**change).shown != an_event().shown
    assert an_event(about=UUID(int=1)).shown == an_event().shown


def test_moments_of_any_zone_are_stamped_in_utc():
    east = CHANGED.astimezone(ZoneInfo("Asia/Tokyo"))

    text = written("North", "fleet.example", [(an_event(), Edition(0, east))])

    assert b"\r\nDTSTAMP:20260302T130005Z\r\n" in text
