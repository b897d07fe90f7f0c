"""The timeline of the cart's page: what happened, and what was taken back."""

import re
from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.actions import project, tags
from fleet.models import Note, Reading
from fleet.telling_facts import Where, detail_of
from shared import clock
from shared.facts import correction_of, record, strike
from shared.models import Site
from tests.factories import MORNING
from tests.fleet.cart_yard import NOW, Yard
from tests.lift_factories import with_role
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard(client, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    return Yard(client)


def told(yard, **asked):
    return [(item.title, item.detail) for item in yard.page(**asked).context["items"]]


def test_the_timeline_tells_what_happened_newest_first(yard):
    a_round(yard.cart, by=yard.manager, at=NOW, parts=("joints", "label"), note="all well")
    tags.add_note(yard.cart, "seat torn", by=yard.manager, at=NOW)
    tags.report(yard.cart, "kerb hit", note="pier", by=yard.manager, at=NOW)

    assert told(yard)[:5] == [
        ("Report", "kerb hit; pier"),
        ("Note", "seat torn"),
        ("Round", "Joints; Warning label; all well"),
        ("Reading", "446.0 h"),
        ("Reading", "430.5 h"),
    ]


def test_of_what_was_told_for_a_day_no_time_is_shown(yard):
    day = {"done_at": MORNING + timedelta(days=20), "day_only": True}
    tags.add_note(yard.cart, "seat torn", by=yard.manager, at=NOW)
    note = Note(site=yard.site, cart=yard.cart, text="of a day", by=yard.manager, **day)
    record(note, at=NOW)

    times = re.findall(r"<time[^>]*>([^<]*)</time>", yard.page().text)

    assert times[:2] == ["03/22/2026", "04/11/2026 09:00"]


def test_what_was_struck_or_corrected_stays_readable_with_who_and_why(yard):
    first, second = Reading.objects.order_by("done_at")
    other = with_role(yard.site, yard.manager, at=MORNING)
    strike(first, reason="wrong cart", by=other, at=NOW)
    again = correction_of(second, reason="a slip", by=other, hours_shown=Decimal("447.0"))
    record(again, at=NOW)
    project.carts([yard.cart.pk])

    items = [item for item in yard.page().context["items"] if item.title == "Reading"]

    assert [(item.detail, item.corrects) for item in items] == [
        ("447.0 h", True),
        ("446.0 h", False),
        ("430.5 h", False),
    ]
    taken = [item.taken_back for item in items]
    assert taken[0] is None
    assert [(one.is_struck, one.by, one.why) for one in taken[1:]] == [
        (False, other.name, "a slip"),
        (True, other.name, "wrong cart"),
    ]
    page = yard.page().content.decode()
    assert "<del><strong>Reading</strong> 430.5 h</del>" in page
    assert f"struck by {other.name}: wrong cart" in page


def test_the_timeline_comes_in_pages_that_hold_every_entry_once(yard):
    for n in range(60):
        tags.add_note(yard.cart, f"note {n}", by=yard.manager, at=NOW)

    pages = [told(yard, page=page) for page in (1, 2)]

    notes = [detail for page in pages for title, detail in page if title == "Note"]
    assert notes == [f"note {n}" for n in reversed(range(60))]


@pytest.mark.parametrize(
    ("kind", "said", "words"),
    [
        (
            "fleet.handback",
            {"done": "new pin", "drive_note": "", "repaired_by": "a", "by": "a"},
            "new pin; released by the same person",
        ),
        (
            "fleet.handback",
            {"done": "new pin", "drive_note": "ran straight", "repaired_by": "b", "by": "a"},
            "new pin; ran straight",
        ),
        (
            "shared.change",
            {
                "what": "bay",
                "value": {"bay": "B2", "plate": "secret", "seats": None},
                "reason": "full",
            },
            "bay: B2; full",
        ),
        (
            "shared.change",
            {"what": "tyre size", "value": {"tyre": "22x11-10", "tyre_mm": "558.8"}, "reason": ""},
            "tyres: 22x11-10; diameter: 22.0 in",
        ),
        (
            "shared.change",
            {
                "what": "told counts",
                "value": {"grease-round": "2026-02-03", "fitting": "some id"},
                "reason": "seen",
            },
            "Grease round: 02/03/2026; seen",
        ),
        ("lifts.wheeloff", {"wheel": "left front", "reason": ""}, "left front"),
    ],
)
def test_detail_of_an_entry(kind, said, words):
    assert detail_of(kind, said, Where(Site(units="inch", date_order="mdy"))) == words


def test_a_reading_is_told_in_the_unit_of_the_meter_it_was_read_from():
    where = Where(Site(units="inch"), [(MORNING, "km"), (NOW, "mi")])
    said = {"hours_shown": None, "distance_shown": "12.5", "source": "desk", "doubted": ""}
    said |= {"hours_rolled": False, "distance_rolled": False}

    told = [
        detail_of("fleet.reading", said | {"done_at": at.isoformat()}, where)
        for at in (MORNING - timedelta(days=1), MORNING, NOW)
    ]

    assert told == ["12.5 mi", "12.5 km", "12.5 mi"]
