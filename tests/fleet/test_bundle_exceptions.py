"""The exceptions of the bundle: each small table tells what it is there for, and no more."""

import random
from copy import copy
from datetime import date, timedelta
from decimal import Decimal

import pytest

from fleet.actions import register
from fleet.actions.corrections import move_round, strike_round
from fleet.actions.countersigns import countersign_round
from fleet.actions.meters import add_reading
from fleet.actions.rounds import TakenDown, save_round
from fleet.actions.sites import change_rules, change_site, give_role
from fleet.actions.tags import add_note, hand_back, report, tag_cart
from fleet.default_rules import book_to_json, default_book
from fleet.models import Reading, Round, Tag
from lifts.actions import fit, remove_lift, replace_kit, take_wheel_off
from lifts.models import Fitting
from shared.models import Role, new_id
from tests.alignment_factories import SheetFactory, ToeFactory
from tests.fleet.bundle_tables import tables_of
from tests.fleet.bundling import Fleet, on
from tests.lift_factories import kit_value
from tests.round_factories import Told, a_round

pytestmark = pytest.mark.django_db

NOW = on(3, 20)


@pytest.fixture
def fleet():
    return Fleet("harbour")


def late_round(fleet, cart, days):
    # its reading is told with the round
    visit = TakenDown(new_id(), opened_at=on(3, 4), done_at=on(3, 4), hours=Decimal("413"))
    save_round(cart, visit, by=fleet.mechanic, at=on(3, 4) + timedelta(days=days))
    return Round.objects.get(pk=visit.id)


def test_late_written_are_listed_with_their_days(fleet):
    cart = fleet.lifted("7", on(3, 2))
    a_round(cart, by=fleet.mechanic, at=on(3, 4), note="In time")
    row = late_round(fleet, cart, days=3)
    add_note(cart, "Never late", by=fleet.mechanic, at=on(3, 8))

    (told,) = tables_of(fleet.site, NOW).rows("late_written")

    assert (told["entry"], told["kind"], told["days_late"]) == (str(row.pk), "fleet.round", "3")
    assert (told["over_a_week"], told["countersign"]) == ("no", "")


def test_days_late_are_days_of_the_calendar_where_the_clocks_go_forward(fleet):
    # 15 U.S.C. 260a: on the second Sunday of March, the 8th in 2026, at 2 o'clock
    cart = fleet.lifted("7", on(3, 2))
    for told_at in (on(3, 9, 8, 30), on(3, 20)):
        tyres = ("22 in", Decimal(550))
        register.change_tyres(cart, *tyres, by=fleet.manager, at=told_at, done_at=on(3, 7))

    rows = tables_of(fleet.site, NOW).rows("late_written")

    assert sorted(row["days_late"] for row in rows) == ["13", "2"]


def test_late_change_of_the_register_says_what_it_changed(fleet):
    cart = fleet.lifted("7", on(3, 2))
    register.lay_up(cart, by=fleet.manager, at=on(3, 20), done_at=on(3, 5))

    (told,) = tables_of(fleet.site, on(3, 21)).rows("late_written")

    assert (told["kind"], told["days_late"]) == ("shared.change: laid up", "15")


def test_round_of_more_than_a_week_waits_until_it_is_countersigned(fleet):
    cart = fleet.lifted("7", on(3, 2))
    done = {"opened_at": on(3, 4), "done_at": on(3, 4)}
    a_round(cart, by=fleet.mechanic, at=on(3, 14), parts=("label",), **done)
    before = tables_of(fleet.site, on(3, 15)).row("late_written", kind="fleet.round")
    row = Round.objects.get(pk=before["entry"])
    countersign_round(row, reason="Sheet found", by=fleet.manager, at=on(3, 16))

    after = tables_of(fleet.site, NOW, with_names=True).row("late_written", kind="fleet.round")

    assert (before["over_a_week"], before["countersign"]) == ("yes", "waits for a countersign")
    assert (after["countersign"], after["countersign_reason"]) == ("countersigned", "Sheet found")
    assert after["countersigned_by"].startswith(fleet.manager.name)


@pytest.mark.parametrize(("who", "own"), [("manager", "yes"), ("mechanic", "no")])
def test_manager_who_countersigns_own_work_is_told(fleet, who, own):
    cart = fleet.lifted("7", on(3, 2))
    done = {"opened_at": on(3, 4), "done_at": on(3, 4), "parts": ("label",)}
    row = a_round(cart, by=getattr(fleet, who), at=on(3, 14), **done).round
    waits = tables_of(fleet.site, on(3, 15)).row("late_written")
    countersign_round(row, reason="Sheet found", by=fleet.manager, at=on(3, 16))

    signed = tables_of(fleet.site, NOW).row("late_written")

    assert (waits["countersigned_own"], signed["countersigned_own"]) == ("", own)


def test_same_person_is_listed_and_another_is_not(fleet):
    fleet.tell_everything()

    rows = tables_of(fleet.site, NOW).rows("same_person")

    assert [(row["cart"], row["done"]) for row in rows] == [("9", "New rim")]
    assert tables_of(fleet.site, on(3, 6)).rows("same_person") == []


@pytest.mark.parametrize(
    ("day", "releases", "known"),
    [
        (6, "mechanic", "did a round in between"),
        (6, "manager", None),
        (4, "mechanic", None),
        (8, "mechanic", None),
    ],
)
def test_who_did_a_round_since_the_tag_and_released_it_is_listed(fleet, day, releases, known):
    cart = fleet.lifted("7", on(3, 2))
    tag = tag_cart(cart, "Pulls", by=fleet.manager, at=on(3, 5))
    by = getattr(fleet, releases)
    if day < 7:
        a_round(cart, by=fleet.mechanic, at=on(3, day), parts=("label",))
    hand_back(tag, done="Looked at", repaired_by=None, by=by, at=on(3, 7))
    if day > 7:
        a_round(cart, by=fleet.mechanic, at=on(3, day), parts=("label",))

    rows = tables_of(fleet.site, NOW).rows("same_person")

    assert [(row["how_known"], row["repaired_by"]) for row in rows] == [(known, "")] * bool(known)


def test_round_that_put_the_tag_on_is_no_work_since(fleet):
    cart = fleet.lifted("7", on(3, 2))
    a_round(cart, by=fleet.mechanic, at=on(3, 4), found={"left U-bolts": "slack"})
    (tag,) = Tag.objects.filter(cart=cart)
    hand_back(tag, done="New bolts", repaired_by=fleet.manager, by=fleet.mechanic, at=on(3, 7))

    assert tables_of(fleet.site, NOW).rows("same_person") == []


def test_repairer_who_did_a_round_too_is_known_by_both(fleet):
    cart = fleet.lifted("7", on(3, 2))
    tag = tag_cart(cart, "Pulls", by=fleet.manager, at=on(3, 5))
    a_round(cart, by=fleet.mechanic, at=on(3, 6), parts=("label",))
    who = {"repaired_by": fleet.mechanic, "by": fleet.mechanic}
    hand_back(tag, done="Looked at", at=on(3, 7), **who)

    told = tables_of(fleet.site, NOW, with_names=True).row("same_person")

    assert told["how_known"] == "named as repairer; did a round in between"
    assert told["repaired_by"].startswith(fleet.mechanic.name)


def test_estimated_readings_are_listed_apart(fleet):
    cart = fleet.lifted("7", on(3, 2))
    who = {"by": fleet.mechanic, "at": on(3, 9)}
    add_reading(cart, hours=Decimal("420"), source=Reading.Source.ESTIMATED, **who)

    tables = tables_of(fleet.site, NOW)

    assert [row["hours_shown"] for row in tables.rows("estimated_readings")] == ["420"]
    listed = {row["recheck"] for row in tables.rows("estimated_due")}
    wanted = [row for row in tables.rows("rechecks") if row["estimated"] == "yes"]
    assert listed == {row["recheck"] for row in wanted if not row["ended_at"]} != set()


def test_part_closed_rounds_say_what_they_left(fleet):
    cart = fleet.lifted("7", on(3, 2))
    found = {"left U-bolts": "slack", "front frame": "not reached"}
    row = a_round(cart, by=fleet.mechanic, at=on(3, 4), found=found, parts=("joints",)).round
    a_round(cart, by=fleet.mechanic, at=on(3, 5), parts=("label",))

    rows = tables_of(fleet.site, NOW).rows("part_closed")

    assert {one["round"] for one in rows} == {str(row.pk)}
    assert [(one["left"], one["what"]) for one in rows] == [("not reached", "front frame")]


def test_move_shows_on_both_carts(fleet):
    wrong, right = fleet.lifted("7", on(3, 2)), fleet.lifted("8", on(3, 2, 12))
    row = a_round(wrong, by=fleet.mechanic, at=on(3, 4)).round
    moved = move_round(row, right, reason="Read 7 for 8", by=fleet.manager, at=on(3, 5))

    rows = tables_of(fleet.site, NOW).rows("moves")

    assert [(one["cart"], one["moved"]) for one in rows] == [
        ("7", "to another cart"),
        ("8", "from another cart"),
    ]
    assert {(one["round_before"], one["round_now"]) for one in rows} == {
        (str(row.pk), str(moved.pk))
    }
    assert {one["why"] for one in rows} == {"Read 7 for 8"}
    assert tables_of(fleet.site, on(3, 4, 12)).rows("moves") == []


def test_verdict_softened_after_a_tag_is_listed(fleet):
    cart = fleet.lifted("7", on(3, 2))
    row = a_round(cart, by=fleet.mechanic, at=on(3, 4), found={"left U-bolts": "slack"}).round
    strike_round(row, reason="Another cart", by=fleet.manager, at=on(3, 6))

    rows = tables_of(fleet.site, NOW).rows("softened")

    told = {(one["cart"], one["what"], one["before"], one["after"]) for one in rows}
    assert ("7", "left U-bolts", "slack", "") in told


def test_unproven_and_untold_lifts_are_listed(fleet):
    old, new = fleet.cart("7"), fleet.cart("8", insurer_told_on="2026-03-03")
    fit(old, fleet.kit, by=fleet.mechanic, at=on(3, 2), paperwork=Fitting.Paperwork.NONE)
    fit(new, fleet.kit, by=fleet.mechanic, at=on(3, 2))
    fleet.cart("9")

    tables = tables_of(fleet.site, NOW)

    assert [row["cart"] for row in tables.rows("unproven")] == ["7"]
    assert [row["cart"] for row in tables.rows("insurer_not_told")] == ["7"]
    gaps = {(row["cart"], row["not_recorded"]) for row in tables.rows("gaps")}
    assert {("7", "full papers of the fitting"), ("9", "any meter reading")} <= gaps
    assert ("8", "full papers of the fitting") not in gaps


def test_results_that_cannot_be_told_are_listed_apart(fleet):
    cart = fleet.lifted("7", on(3, 2))
    # 1/8 in, the very limit
    toe = [ToeFactory.build(front="35 7/8", rear="36")]
    told = Told("camber-toe", SheetFactory.build(), toe)
    visit = TakenDown(new_id(), opened_at=on(3, 4), parts=[(told, None)])
    save_round(cart, visit, by=fleet.mechanic, at=on(3, 4))

    tables = tables_of(fleet.site, NOW)

    (row,) = tables.rows("cannot_tell")
    assert (row["round"], row["result"]) == (str(visit.id), "toe")
    assert (row["value"], row["low"], row["unit"]) == ("3.175", "3.175", "mm")
    verdicts = [row["verdict"] for row in tables.rows("alignments")]
    assert verdicts.count("can't tell") == 1 < len(verdicts)


def test_rule_book_says_in_words_what_changed(fleet):
    book = book_to_json(default_book())
    (rule,) = [one for one in book["rules"] if one["code"] == "first-check"]
    rule["ladder"] = [{**limit, "days": 2} for limit in rule["ladder"]]
    change_rules(fleet.site, book, reason="Shore air", by=fleet.manager, at=on(3, 10))

    (row,) = tables_of(fleet.site, NOW).rows("rule_changes")

    assert (row["version"], row["reason"]) == ("2", "Shore air")
    assert (row["about"], row["part"]) == ("first-check (default)", "Due")
    assert "3 days" in row["before"] and "2 days" in row["after"]
    assert tables_of(fleet.site, on(3, 9)).rows("rule_changes") == []


def test_settings_of_the_site_are_told_as_they_changed(fleet):
    change_site(copy(fleet.site), {"units": "metric"}, by=fleet.manager, at=on(3, 10))

    (row,) = tables_of(fleet.site, NOW).rows("site_changes")

    assert (row["setting"], row["before"], row["after"]) == ("units", "inch", "metric")


def test_kit_is_in_force_until_its_next_edition(fleet):
    value = kit_value(name="Kit of harbour", edition="edition 2")
    replace_kit(fleet.kit, value, by=fleet.manager, at=on(3, 10))

    before, after = (tables_of(fleet.site, at).rows("kits") for at in (on(3, 9), NOW))

    assert [(row["edition"], row["until_at"]) for row in before] == [("edition 1", "")]
    assert [(row["edition"], row["until_at"][:10]) for row in after] == [
        ("edition 2", ""),
        ("edition 1", "2026-03-10"),
    ]


def test_share_found_loose_is_of_the_looks_that_reached_the_joint(fleet):
    cart = fleet.lifted("7", on(3, 2))
    found = {"left front lugs": "slack", "left rear lugs": "took up"}
    found["right rear lugs"] = "not reached"
    a_round(cart, by=fleet.mechanic, at=on(3, 4), found=found, parts=("joints",))

    tables = tables_of(fleet.site, NOW)

    # 4 firm at the close-out; then 1 firm, 1 took up, 1 slack, 1 not reached
    row = tables.row("found_loose", family="lugs", stage="settling")
    counts = ("looks", "firm", "took_up", "slack", "gone", "not_reached")
    assert [row[name] for name in counts] == ["7", "5", "1", "1", "0", "1"]
    assert (row["loose_percent"], row["moved_percent"]) == ("14.3", "28.6")
    # Wilson, 1 of 7: (1/7 + z2/14 -+ z sqrt(6/343 + z2/196)) / (1 + z2/7), z2 = 3.8415
    assert (row["loose_low"], row["loose_high"]) == ("2.6", "51.3")


def later_acts(fleet, carts):
    """Return what may happen after the day that a bundle is of, one act each."""
    who = {"by": fleet.mechanic}
    boss = {"by": fleet.manager}
    quick, plain, slow = carts["7"], carts["9"], carts["10"]
    earlier = Round.objects.filter(cart=slow).latest("done_at")
    fitting = Fitting.objects.get(cart=slow)
    rules = book_to_json(default_book())
    backdated = {"opened_at": on(3, 6), "done_at": on(3, 6)}
    yield lambda at: add_reading(quick, hours=Decimal("430"), at=at, **who)
    yield lambda at: a_round(quick, at=at, **who)
    yield lambda at: a_round(quick, at=at, parts=("label",), **backdated, **who)
    yield lambda at: tag_cart(quick, "Pulls", at=at, **who)
    yield lambda at: report(quick, "brake", at=at, **who)
    yield lambda at: move_round(earlier, quick, reason="Wrong cart", at=at, **boss)
    yield lambda at: remove_lift(fitting, "Sold", at=at, **boss)
    yield lambda at: take_wheel_off(quick, "left front", at=at, **who)
    yield lambda at: register.change_cart(quick, "number", {"number": "70"}, at=at, **boss)
    yield lambda at: register.leave(plain, at=at, **boss)
    yield lambda at: change_rules(fleet.site, rules, reason="Anew", at=at, **boss)
    yield lambda at: change_site(copy(fleet.site), {"zone": "UTC"}, at=at, **boss)
    yield lambda at: replace_kit(fleet.kit, kit_value(edition="2"), at=at, **boss)
    about = (fleet.site, fleet.mechanic, Role.MECHANIC, date(2026, 2, 2), date(2026, 3, 31))
    yield lambda at: give_role(*about, at=at, **boss)


@pytest.mark.parametrize("seed", [3, 11, 20])
def test_no_table_of_a_day_moves_whatever_is_recorded_later(fleet, seed):
    carts = fleet.tell_everything()
    first = tables_of(fleet.site, NOW)
    acts = list(later_acts(fleet, carts))
    random.Random(seed).shuffle(acts)
    for hours, act in enumerate(acts, start=1):
        act(NOW + timedelta(hours=hours))

    again = tables_of(fleet.site, NOW)

    assert [name for name in first.files if first.files[name] != again.files[name]] == []
    later = tables_of(fleet.site, NOW + timedelta(days=9))
    moved = {name for name in first.files if first.files[name] != later.files[name]}
    assert {"register.csv", "moves.csv", "figures.csv", "late_written.csv", "kits.csv"} <= moved


def test_register_tells_the_desk_s_answer_as_it_was_known_before_and_after_a_strike(fleet):
    cart = fleet.lifted("7", on(3, 2))
    row = a_round(cart, by=fleet.mechanic, at=on(3, 4), found={"left U-bolts": "slack"}).round
    strike_round(row, reason="Another cart", by=fleet.manager, at=on(3, 6))
    that_day = on(3, 4, 14, 5)

    then, now = (tables_of(fleet.site, that_day, known) for known in (that_day, on(3, 7)))

    said = [one.row("register", cart="7") for one in (then, now)]
    assert [(row["desk"], row["desk_why"]) for row in said] == [("NO", "tagged"), ("GO", "")]
