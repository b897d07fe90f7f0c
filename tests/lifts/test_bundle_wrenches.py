"""The bundle's tables of wrenches, and of the looks that one found out puts in doubt."""

from datetime import date

import pytest

from fleet.actions import register
from fleet.kinds import Cut
from lifts.actions import remove_lift
from lifts.actions.rechecks import order_joint_looks
from lifts.actions.wrenches import strike_of_wrench
from lifts.found_out import finding_called, looks_found_out
from lifts.models import Fitting, WrenchCertificate
from tests.fleet.bundle_tables import tables_of
from tests.fleet.bundling import Fleet, on
from tests.found_out_factories import a_joint_round, a_look, certified, checked, dropped
from tests.wrench_factories import a_good_wrench, a_wrench

pytestmark = pytest.mark.django_db

FOUND = on(6, 6, 14)
NOW = on(7, 1)


@pytest.fixture
def fleet():
    return Fleet("harbour")


@pytest.fixture
def wrench(fleet):
    wrench = a_good_wrench(fleet.site, fleet.manager, on(4, 1))
    checked(wrench, fleet.mechanic, on(5, 2))
    return wrench


@pytest.fixture
def cart(fleet):
    return fleet.lifted("7", on(4, 10))


def frame(fleet):
    return fleet.kit.joints.get(name="front frame")  # 45 N.m without a band of its own


def looked_at(fleet, cart, wrench, at, **about):
    return a_joint_round(cart, fleet.mechanic, at, a_look(frame(fleet), wrench, **about))


def found_low(fleet, wrench):
    return certified(wrench, fleet.manager, FOUND, found="-0.14", left="0")


def test_rack_stands_as_of_the_day(fleet, wrench):
    dropped(wrench, fleet.mechanic, on(5, 10))
    a_wrench(fleet.site, fleet.manager, on(5, 20), name="TW-2")

    states = {
        at: [(row["name"], row["state"]) for row in tables_of(fleet.site, at).rows("wrenches")]
        for at in (on(3, 1), on(5, 9), on(5, 11), on(5, 21))
    }

    assert list(states.values()) == [
        [],
        [("TW-1", "good")],
        [("TW-1", "doubted")],
        [("TW-1", "doubted"), ("TW-2", "due")],
    ]
    row = tables_of(fleet.site, on(5, 11)).rows("wrenches")[0]
    assert (row["full_scale_nm"], row["due_on"], row["pulls"]) == ("100", "2027-04-01", "0")
    assert row["why"].startswith("dropped on")
    assert row["last_good_at"] == "2026-05-02T09:00:00-04:00"


def test_certificate_is_told_with_its_errors_as_found_and_as_left(fleet, wrench):
    told = found_low(fleet, wrench)
    tables = tables_of(fleet.site, NOW)

    row = tables.row("wrench_certificates", certificate=str(told.pk))
    points = [one for one in tables.rows("wrench_points") if one["certificate"] == str(told.pk)]

    assert (row["wrench"], row["wrench_name"], row["number"]) == (str(wrench.pk), "TW-1", "C-2")
    assert (row["tolerance"], row["found_out"], row["left_out"]) == ("0.04", "yes", "no")
    assert [(one["set_nm"], one["as_found_percent"], one["as_left_percent"]) for one in points] == [
        ("20", "-14", "0"),
        ("60", "-14", "0"),
        ("100", "-14", "0"),
    ]
    assert len(points) == int(row["points"])


def test_checks_and_events_are_told_and_what_is_taken_back_is_not(fleet, wrench):
    event = dropped(wrench, fleet.mechanic, on(5, 10))
    before = tables_of(fleet.site, on(5, 11))
    strike_of_wrench(event, reason="Another one", by=fleet.manager, at=on(5, 12))
    after = tables_of(fleet.site, on(5, 13))

    check = before.rows("wrench_checks")[0]
    assert (check["set_nm"], check["read_nm"], check["is_good"]) == ("50", "50", "yes")
    assert check["error_percent"] == "0"
    assert [row["what"] for row in before.rows("wrench_events")] == ["dropped"]
    assert after.rows("wrench_events") == []
    assert [row["value"] for row in figures(before, "wrenches_doubted")] == ["1"]
    assert [row["value"] for row in figures(after, "wrenches_doubted")] == ["0"]


def figures(tables, code):
    return [row for row in tables.rows("figures") if row["code"] == code]


def test_doubt_lists_the_looks_between_the_last_good_check_and_the_finding(fleet, cart, wrench):
    looked_at(fleet, cart, wrench, on(5, 1))
    spoilt = looked_at(fleet, cart, wrench, on(5, 20))
    finding = found_low(fleet, wrench)
    looked_at(fleet, cart, wrench, on(6, 7))

    tables = tables_of(fleet.site, FOUND)
    [row] = tables.rows("wrench_doubts")

    assert (row["cart"], row["joint"], row["joints"]) == ("7", "front frame", str(spoilt.pk))
    assert (row["finding"], row["found_out_by"]) == (str(finding.pk), "certificate")
    assert row["doubted_after"] == "2026-05-02T09:00:00-04:00"
    assert row["doubted_until"] == "2026-06-06T14:00:00-04:00"
    # 45 N.m less 14 %; the usual band is 10 % either way
    assert (row["target_nm"], row["error_percent"], row["delivered_nm"]) == ("45", "-14", "38.7")
    assert (row["low_nm"], row["verdict"], row["standing"]) == ("40.5", "outside", "open")
    assert [one["value"] for one in figures(tables, "wrench_doubts")] == ["1"]
    assert [one["value"] for one in figures(tables, "wrench_doubts_open")] == ["1"]
    assert tables_of(fleet.site, on(6, 6, 13)).rows("wrench_doubts") == []


def test_look_again_with_a_good_wrench_settles_a_doubt_from_then_on(fleet, cart, wrench):
    looked_at(fleet, cart, wrench, on(5, 20))
    found_low(fleet, wrench)
    again = looked_at(fleet, cart, wrench, on(6, 8))

    before, after = (tables_of(fleet.site, at) for at in (on(6, 7), on(6, 9)))

    assert before.rows("wrench_doubts")[0]["standing"] == "open"
    [row] = after.rows("wrench_doubts")
    assert (row["standing"], row["again_joints"]) == ("looked at again", str(again.pk))
    assert row["again_at"] == "2026-06-08T09:00:00-04:00"
    assert [one["value"] for one in figures(after, "wrench_doubts_open")] == ["0"]


def test_ordered_recheck_is_named_once_it_was_ordered(fleet, cart, wrench):
    looked_at(fleet, cart, wrench, on(5, 20))
    finding = finding_called(wrench, found_low(fleet, wrench).pk, Cut(NOW, NOW))
    looks = [one.look for one in looks_found_out(finding, Cut(NOW, NOW))]
    told = {"reason": "Found low", "by": fleet.manager, "at": on(6, 8)}
    [order] = order_joint_looks(finding, looks, **told)

    before, after = (tables_of(fleet.site, at) for at in (on(6, 7), on(6, 9)))

    assert [(r["standing"], r["order"]) for r in before.rows("wrench_doubts")] == [("open", "")]
    assert [(r["standing"], r["order"]) for r in after.rows("wrench_doubts")] == [
        ("recheck ordered", str(order.pk))
    ]


def test_closed_recheck_settles_its_joint_and_an_open_one_does_not(fleet, cart, wrench):
    looked_at(fleet, cart, wrench, on(5, 20))
    finding = finding_called(wrench, found_low(fleet, wrench).pk, Cut(NOW, NOW))
    looks = [one.look for one in looks_found_out(finding, Cut(NOW, NOW))]
    order_joint_looks(finding, looks, reason="Found low", by=fleet.manager, at=on(6, 8))
    looked_at(fleet, cart, wrench, on(6, 9))

    [row] = tables_of(fleet.site, on(6, 10)).rows("wrench_doubts")

    assert (row["standing"], row["closed_at"]) == ("recheck closed", "2026-06-09T09:00:00-04:00")


def test_dropped_wrench_that_proves_good_leaves_its_looks_told_and_inside(fleet, cart, wrench):
    looked_at(fleet, cart, wrench, on(5, 20))
    event = dropped(wrench, fleet.mechanic, on(5, 21))
    told = certified(wrench, fleet.manager, on(5, 25), found="0.01", left="0")

    before, after = (tables_of(fleet.site, at) for at in (on(5, 22), on(5, 26)))

    [row] = before.rows("wrench_doubts")
    assert (row["finding"], row["verdict"], row["standing"]) == (str(event.pk), "not known", "open")
    assert (row["error_percent"], row["delivered_nm"], row["found_out_by"]) == ("", "", "dropped")
    [row] = after.rows("wrench_doubts")
    assert (row["measured_by"], row["verdict"], row["standing"]) == (
        str(told.pk),
        "inside",
        "inside",
    )
    assert [one["value"] for one in figures(after, "wrench_doubts_open")] == ["0"]


@pytest.mark.parametrize(("left", "word"), [("removed", "lift off"), ("sold", "cart gone")])
def test_doubt_goes_with_the_lift_and_the_cart(fleet, cart, wrench, left, word):
    looked_at(fleet, cart, wrench, on(5, 20))
    found_low(fleet, wrench)
    who = {"by": fleet.manager, "at": on(6, 8)}
    if left == "removed":
        fitting = Fitting.objects.filter(cart=cart).latest("done_at")
        remove_lift(fitting, reason="Sold on", **who)
    else:
        register.leave(cart, reason="Sold", **who)

    [row] = tables_of(fleet.site, on(6, 9)).rows("wrench_doubts")

    assert row["standing"] == word


def test_doubt_of_an_old_look_is_new_when_its_wrench_was_found_out_since(fleet, cart, wrench):
    looked_at(fleet, cart, wrench, on(5, 20))
    found_low(fleet, wrench)

    since, later = (
        tables_of(fleet.site, NOW, from_day=day) for day in (date(2026, 6, 6), date(2026, 6, 7))
    )

    assert len(since.rows("wrench_doubts")) == 1
    assert later.rows("wrench_doubts") == []
    # the rack itself is told however old
    assert len(later.rows("wrench_certificates")) == WrenchCertificate.objects.count() == 2


def test_wrenches_of_another_site_are_not_told(fleet, wrench):
    osprey = Fleet("osprey")
    other = a_good_wrench(osprey.site, osprey.manager, on(4, 1), name="Osprey 1")
    checked(other, osprey.mechanic, on(5, 2))
    dropped(other, osprey.mechanic, on(5, 3))

    tables = tables_of(fleet.site, NOW)

    for name in ("wrenches", "wrench_certificates", "wrench_points", "wrench_checks"):
        assert "Osprey 1" not in str(tables.rows(name)) and tables.rows(name)
    assert tables.rows("wrench_events") == []


def test_looks_are_told_with_what_was_asked_of_them(fleet, cart, wrench):
    part = looked_at(
        fleet,
        cart,
        wrench,
        on(5, 20),
        found="took up",
        moved_twelfths=1,
        full_loss_deg=60,
        adapter_deg=90,
        nut_off=True,
        removals=2,
    )

    tables = tables_of(fleet.site, NOW)
    row = tables.row("joint_looks", joints=str(part.pk))

    assert (row["name"], row["found"], row["wrench_name"]) == ("front frame", "took up", "TW-1")
    assert (row["wrench_state"], row["target_nm"], row["adapter_deg"]) == ("good", "45", "90")
    assert (row["nut_off"], row["removals"], row["lacks"]) == ("yes", "2", "")
    assert row["clamp_lost"] == "clamp lost: at most 50 %"
    old = [one for one in tables.rows("joint_looks") if one["joints"] != str(part.pk)]
    # rounds of before these were asked say nothing of them
    assert {(one["wrench"], one["wrench_state"], one["nut_off"]) for one in old} == {("", "", "")}
