"""The bundle says what the pages say, as of now and as of any day, and nothing of elsewhere."""

import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fleet.actions import register
from fleet.actions.meters import add_reading
from fleet.actions.rounds import TakenDown, save_round
from fleet.actions.sites import change_rules, give_role
from fleet.board import LATER, in_order, rows_of
from fleet.bundle import scope
from fleet.bundle.archive import write_tables
from fleet.bundle.tables import COLUMNS, all_tables
from fleet.default_rules import book_to_json, default_book
from fleet.due import state_on
from fleet.kinds import Cut
from fleet.models import Cart, Recheck
from lifts.actions import fit
from shared.models import Entry, Role, new_id
from tests.fleet.bundling import FOUNDED, Fleet, bundled, on
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db

NOW = on(3, 20)
TOLD = [
    "columns",
    "register",
    "late_list",
    "rechecks",
    "rounds",
    "findings",
    "tags",
    "reports",
    "readings",
    "corrections",
    "people",
    "rules",
    "lift_chapters",
    "labels",
]
MANAGER, MECHANIC = "P-0001", "P-0002"
FIRST_CHECK = ("joints", "brake", "label")


@pytest.fixture
def fleet():
    return Fleet("harbour")


@pytest.fixture
def carts(fleet):
    return fleet.tell_everything()


@pytest.mark.both
def test_bundle_holds_every_table(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, NOW)

    assert list(read.tables) == [table.name for table in (COLUMNS, *all_tables())]
    counts = {name: len(read.rows(name)) for name in TOLD}
    assert all(counts.values()), counts
    assert [row["cart"] for row in read.rows("register")] == ["7", "9", "10", "12"]


@pytest.mark.both
@pytest.mark.parametrize("day", [on(3, 11, 10), NOW, on(4, 20), on(9, 1)])
def test_rechecks_agree_with_their_rows_and_the_board(fleet, carts, tmp_path, day):
    today = fleet.site.day(day)
    rows = bundled(fleet.site, tmp_path, day).rows("rechecks")

    stored = {str(row.pk): row for row in Recheck.objects.filter(site=fleet.site)}
    assert len(stored) > 15
    assert {row["cart_id"] for row in rows} == {str(cart.pk) for cart in (carts["7"], carts["10"])}
    assert {row["recheck"]: said(row) for row in rows} == {
        key: wanted(row, today) for key, row in stored.items()
    }
    board = {
        str(w.id): section for section, w in rows_of(in_order(Recheck.objects, fleet.site, today))
    }
    active = {row["recheck"] for row in rows if row["state"] not in ("closed", "void")}
    assert board and board.keys() <= active and LATER not in board.values()


def said(row):
    names = ("state", "governs", "opens_on", "due_on", "late_on", "stops_on", "due_life_hours")
    return [row[name] for name in names]


def wanted(row, today):
    days = [row.opens_on, row.due_on, row.late_on, row.stops_on]
    hours = "" if row.due_hours is None else f"{row.due_hours.normalize():f}"
    state = row.ended or state_on(row, today)
    return [state, row.governs, *[day.isoformat() if day else "" for day in days], hours]


def test_register_agrees_with_the_carts(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, NOW)

    for cart in Cart.objects.filter(site=fleet.site):
        row = read.row("register", cart=cart.number)
        assert row["condition"] == cart.condition
        marks = ("is_lifted", "is_tagged", "is_unproven")
        assert [row[name] == "yes" for name in marks] == [getattr(cart, name) for name in marks]
    quick = read.row("register", cart="7")
    assert (quick["state"], quick["hours_shown"], quick["hours_life"]) == ("stopped", "423", "423")
    assert read.row("register", cart="12")["left_on"] == "2026-03-09"


def test_late_list_says_for_how_long_and_why(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, on(3, 6, 12))

    (late,) = [row for row in read.rows("late_list") if row["work"] == "First check"]
    assert late["cart"] == "7"
    assert (late["state"], late["stops_on"], late["days_stopped"]) == ("stopped", "2026-03-05", "2")
    assert late["why"] == "at 417.0 h, meter 423.0 h: 6.0 h past"
    states = {row["recheck"]: row["state"] for row in read.rows("rechecks")}
    listed = {row["recheck"] for row in read.rows("late_list")}
    assert listed == {key for key, state in states.items() if state in ("late", "stopped")}


def test_rounds_findings_and_labels_are_told_as_recorded(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, NOW)

    row = read.row("rounds", cart="10", done_at="2026-03-04T09:00:00-05:00")
    slack = read.row("findings", round=row["round"], item="left U-bolts")
    assert (slack["part"], slack["found"], slack["cart"]) == ("joints", "slack", "10")
    assert row["by"] == MECHANIC
    label = read.row("labels", round=row["round"])
    assert (label["in_place"], label["visible_from_seat"]) == ("yes", "yes")
    closed = [one for one in read.rows("rechecks") if one["ended_by"] == row["round"]]
    closed = [one for one in closed if one["state"] == "closed"]
    assert len(closed) == int(row["rechecks_closed"]) > 0
    assert {one["closed_by"] for one in closed} == {MECHANIC}


def test_tags_tell_the_hand_back_and_the_same_person(fleet, carts, tmp_path):
    before, after = (bundled(fleet.site, tmp_path, at) for at in (on(3, 6), NOW))

    tag = before.row("tags", cart="9")
    assert (tag["handed_back_at"], tag["same_person"], tag["days_out"]) == ("", "", "1")
    tag = after.row("tags", cart="9")
    assert tag["handed_back_at"] == "2026-03-07T09:00:00-05:00"
    assert (tag["same_person"], tag["days_out"], tag["done"]) == ("yes", "2", "New rim")
    raised = after.row("tags", cart="10")
    assert raised["round"] == after.row("rounds", tag=raised["tag"])["round"]


def test_struck_round_stands_among_the_corrections_alone(fleet, carts, tmp_path):
    before, after = (bundled(fleet.site, tmp_path, at) for at in (on(3, 10, 12), NOW))

    mistaken = before.row("rounds", note="Mistaken at harbour")["round"]
    assert mistaken not in {row["round"] for row in after.rows("rounds")}
    assert mistaken not in {row["round"] for row in after.rows("findings")}
    struck = after.row("corrections", entry=mistaken)
    assert (struck["how"], struck["why"]) == ("struck", "Wrong cart at harbour")
    assert '"note":"Mistaken at harbour"' in struck["old_value"]
    assert before.rows("corrections") == []


def test_late_written_round_counts_only_once_known(fleet, tmp_path):
    cart = fleet.lifted("7", on(3, 2))
    visit = TakenDown(new_id(), opened_at=on(3, 4), done_at=on(3, 4), note="From the notebook")
    save_round(cart, visit, by=fleet.mechanic, at=on(3, 18))
    day = on(3, 10)

    then, later = (bundled(fleet.site, tmp_path, day, known) for known in (day, NOW))

    assert [row["note"] for row in then.rows("rounds")] == ["Closed at harbour"]
    late = later.row("rounds", note="From the notebook")
    assert (late["written_late"], late["received_at"]) == ("yes", "2026-03-18T09:00:00-04:00")


def test_state_as_of_a_past_day_is_of_what_was_known_then(fleet, tmp_path):
    cart = fleet.lifted("7", on(3, 2))
    a_round(cart, at=on(3, 9), by=fleet.mechanic, parts=FIRST_CHECK)
    done_late = on(3, 9)

    states = {
        at: bundled(fleet.site, tmp_path, at).row("rechecks", rule="first-check")["state"]
        for at in (on(3, 2, 12), on(3, 5), done_late - timedelta(hours=1), done_late)
    }

    assert list(states.values()) == ["open", "due", "late", "closed"]


def test_later_rule_book_and_role_are_not_yet_known(fleet, carts, tmp_path):
    other = {**book_to_json(default_book())}
    change_rules(fleet.site, other, reason="Tried anew", by=fleet.manager, at=on(3, 15))
    to_day = date(2026, 3, 12)
    about = (fleet.site, fleet.mechanic, Role.MECHANIC, date(2026, 2, 2), to_day)
    give_role(*about, by=fleet.manager, at=on(3, 16))

    before, after = (bundled(fleet.site, tmp_path, at) for at in (on(3, 12), NOW))

    assert {row["version"] for row in before.rows("rules")} == {"1"}
    assert {row["reason"] for row in after.rows("rules")} == {"Default rules", "Tried anew"}
    first = after.row("rules", version="2", rule="first-check")
    assert (first["limit_days"], first["limit_hours"], first["limit_km"]) == ("3", "5", "40.2336")
    held = {"person": MECHANIC, "in_force": "yes"}
    assert before.row("people", **held)["to_day"] == ""
    assert [row["in_force"] for row in after.rows("people") if row["role"] == "mechanic"] == [
        "no",
        "no",
    ]


def test_same_moments_give_the_same_tables_whatever_came_later(fleet, carts, tmp_path):
    first = bundled(fleet.site, tmp_path, NOW, made_at=NOW)
    add_reading(carts["10"], hours=Decimal("430"), by=fleet.mechanic, at=NOW + timedelta(hours=1))
    a_round(carts["7"], by=fleet.mechanic, at=NOW + timedelta(hours=2))
    second = bundled(fleet.site, tmp_path, NOW, made_at=NOW + timedelta(days=9))

    assert first.tables == second.tables
    assert first.manifest["content"] == second.manifest["content"]
    changed = set(first.readme.splitlines()) ^ set(second.readme.splitlines())
    assert {line.split()[0] for line in changed} == {"Made", "time", "signature"}


def test_later_rule_book_moves_nothing_of_a_day_before_it(fleet, tmp_path):
    joined_at = FOUNDED - timedelta(days=30)
    cart = register.join_cart(
        fleet.site, {"number": "3"}, by=fleet.manager, at=FOUNDED, done_at=joined_at
    )
    fit(cart, fleet.kit, by=fleet.mechanic, at=FOUNDED, done_at=joined_at)
    before = bundled(fleet.site, tmp_path, on(3, 12))
    book = book_to_json(default_book())
    for rule in book["rules"]:
        if "ladder" in rule:
            rule["ladder"] = [{**limit, "days": 300} for limit in rule["ladder"]]
    change_rules(fleet.site, book, reason="Looser", by=fleet.manager, at=on(3, 15))

    after = bundled(fleet.site, tmp_path, on(3, 12))

    assert before.row("rechecks", rule="fitting-close-out")["due_on"] == "2026-01-03"
    assert after.tables == before.tables


def test_batches_make_no_difference(fleet, carts, tmp_path, monkeypatch):
    whole = bundled(fleet.site, tmp_path, NOW)
    monkeypatch.setattr(scope, "BATCH_CARTS", 1)

    assert bundled(fleet.site, tmp_path, NOW).tables == whole.tables


def test_tables_cost_the_same_however_many_carts(fleet, tmp_path):
    counts = []
    for place, numbers in enumerate((["7"], ["8", "9"])):
        for number in numbers:
            fleet.lifted(number, on(3, 2))
        told = scope.Scope(fleet.site, Cut(NOW, NOW))
        with CaptureQueriesContext(connection) as asked:
            write_tables(told, tmp_path / f"{place}", lambda percent: None)
        counts.append(len(asked))

    assert counts[0] == counts[1]


def test_files_are_plain_csv(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, NOW)

    for name, data in read.tables.items():
        assert data.startswith(b"\xef\xbb\xbf") and data.endswith(b"\r\n"), name
        assert data.count(b"\n") == data.count(b"\r\n"), name
    figures = [row["hours_shown"] for row in read.rows("readings")]
    assert set(figures) == {"412", "423"}


def test_columns_are_described_one_by_one(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, NOW)

    described = [(row["file"], row["column"]) for row in read.rows("columns")]
    found = []
    for name, data in read.tables.items():
        header = data.decode("utf-8-sig").split("\r\n")[0].split(",")
        found += [(name, column) for column in header]
    assert sorted(described) == sorted(found) and len(described) == len(set(described))
    assert all(row["meaning"] for row in read.rows("columns"))


def test_readme_says_as_of_what_and_what_it_does_not_prove(fleet, carts, tmp_path):
    read = bundled(fleet.site, tmp_path, on(3, 10), NOW)

    assert "Happened by:     2026-03-10T09:00:00-04:00\r\n" in read.readme
    assert "Known here by:   2026-03-20T09:00:00-04:00\r\n" in read.readme
    assert "Made by:         a test\r\n" in read.readme
    known = Entry.objects.filter(site=fleet.site, received_at__lt=on(3, 21)).count()
    assert f"Journal entries: {known} of this site" in read.readme
    assert Entry.objects.filter(site=fleet.site, received_at__lte=on(3, 10)).count() < known
    assert "It does not prove that a check was done" in read.readme
    assert not re.search(r"\b(safe|compliant|certified)\b", read.readme, re.IGNORECASE)


def test_site_without_carts_bundles_empty_tables(fleet, tmp_path):
    read = bundled(fleet.site, tmp_path, FOUNDED)

    assert read.rows("register") == [] == read.rows("late_list")
    assert len(read.rows("people")) == 3
