"""The demo fleet with its lates, tags, reports, corrections and labels."""

from datetime import timedelta
from hashlib import sha256
from itertools import pairwise

import pytest
from django.core.management import call_command

from deploy.demo import label_photos
from fleet.actions import project
from fleet.actions.checkpoint_mails import plan
from fleet.bundle.correction_tables import AWAY, HERE
from fleet.bundle.late_tables import SIGNED, WAITS
from fleet.due import state_on
from fleet.models import (
    Cart,
    CartNumber,
    CheckpointMail,
    HandBack,
    Reading,
    Recheck,
    Report,
    Tag,
)
from fleet.reminding import site_days
from lifts.bundle_labels import PHOTOS
from lifts.models import (
    Kit,
)
from lifts.proof import share_of_target
from lifts.wheels import Wheel
from shared import outside
from shared.models import Checkpoint, Entry, JournalHead, Photo, Site, Strike
from shared.photos import copy_path, original_path
from shared.sealing import leaves_of, statement_of, tree_of
from shared.tree import is_consistent
from tests.deploy.demo.told import TOLD_AT, cart, resort
from tests.fleet.bundle_tables import tables_of


def states(site):
    rows = Recheck.objects.active().filter(site=site)
    return [state_on(row, site.day(TOLD_AT)) for row in rows]


def test_the_fleet_is_about_180_carts_of_which_70_are_lifted():
    assert Cart.objects.in_fleet().count() == 182
    assert Cart.objects.lifted().count() == 70


def test_each_site_has_a_sheet_for_plain_carts_with_their_lugs_and_targets():
    sheets = Kit.objects.plain().order_by("site__slug")

    assert [sheet.site.slug for sheet in sheets] == ["brindlewick", "mirrowmere"]
    assert {sheet.name for sheet in sheets} == {"Plain cart, lugs (invented for the demo)"}
    for sheet in sheets:
        lugs = sheet.joints.filter(family="lugs", target_nm__isnull=False)
        assert set(lugs.values_list("wheel", flat=True)) == set(Wheel)
        assert sheet.joints.count() == 4


def test_its_three_kits_are_invented_and_keep_their_targets_to_their_share_of_proof():
    kits = Kit.objects.lifting().filter(site=resort()).order_by("code")

    assert [
        (kit.code, kit.joints.on_sheet().count(), kit.grease_points.count()) for kit in kits
    ] == [
        ("harrow-4", 22, 8),
        ("lark-3", 20, 4),
        ("tamsin-5", 18, 5),
    ]
    assert {"invented" in kit.name for kit in kits} == {True}
    for kit, wanted in zip(kits, (0.60, 0.55, 0.62), strict=True):
        shares = [share_of_target(joint) for joint in kit.joints.on_sheet()]
        # a target is rounded to a whole N.m, of 18 at the least
        assert {abs(share.share - wanted) < 0.02 for share in shares if share} == {True}
        assert not any(share.is_grade_assumed for share in shares if share)
        without = kit.joints.on_sheet().filter(target_nm=None)
        assert {joint.is_by_look for joint in without} <= {True}


def test_its_rows_are_what_its_facts_say():
    assert project.differences(Cart.objects.values_list("pk", flat=True)) == []


def test_both_journals_are_without_a_gap():
    for site in Site.objects.all():
        numbers = Entry.objects.filter(site=site).order_by("seq").values_list("seq", flat=True)
        assert list(numbers) == list(range(1, len(numbers) + 1))


def test_a_few_are_late_and_hardly_any_stopped():
    found = states(resort())

    assert 3 <= found.count("late") <= 25
    assert 1 <= found.count("stopped") <= 4


def test_a_stopped_cart_still_moves():
    stopped = Recheck.objects.active().get(cart=cart("108"), kind_code="first-check")

    later = Reading.objects.filter(cart=cart("108"), done_at__date__gt=stopped.stops_on)
    shown = list(later.order_by("done_at").values_list("hours_shown", flat=True))

    assert shown == sorted(shown)
    assert len(shown) >= 1


def test_a_tag_waits_for_its_hand_back():
    assert cart("112").is_tagged
    assert Tag.objects.get(cart=cart("112")).is_critical


def test_one_hand_back_was_given_by_the_one_who_did_the_repair():
    assert [back.is_same_person for back in HandBack.objects.filter(cart=cart("118"))] == [True]


def test_one_lift_has_no_paperwork_and_no_clock_ran_backwards():
    row = cart("150")

    assert row.is_unproven
    assert row.unrecorded_before == resort().day(TOLD_AT - timedelta(days=34))
    assert not Recheck.objects.active().filter(cart=row, stops_on__isnull=False).exists()


def test_a_number_was_reused():
    spans = CartNumber.objects.filter(site=resort(), number="160")

    assert spans.values("cart").distinct().count() == 2


def test_a_replaced_meter_counts_on():
    row = cart("130")

    assert row.hours_life > row.hours_shown + 100


def test_reports_of_the_desk_wait():
    assert set(Report.objects.values_list("noticed", flat=True)) == {"kerb hit", "noise"}


def test_each_journal_was_signed_every_week_and_on_the_last_day(capsys):
    for site in Site.objects.all():
        made = [row.made_at for row in Checkpoint.objects.filter(site=site)]
        assert made[-1] == TOLD_AT
        assert {site.day(b) - site.day(a) for a, b in pairwise(made[:-1])} == {timedelta(days=7)}
        assert 58 <= len(made) <= 62

    call_command("verify_history")

    assert capsys.readouterr().out.count(": nothing differs\n") == 2


def test_the_newest_checkpoint_is_kept_outside_with_every_leaf():
    for head in JournalHead.objects.all():
        row = Checkpoint.objects.filter(site=head.site_id).last()
        assert outside.newest(head.site_id) == statement_of(row)
        assert row.size == head.size
        kept = outside.leaves(head.site_id, 0, head.size + 1)
        assert kept == leaves_of(head.site_id, 0, head.size)


def test_a_checkpoint_of_a_year_ago_is_proved_to_be_a_prefix():
    rows = Checkpoint.objects.filter(site=resort(), made_at__lt=TOLD_AT - timedelta(days=365))
    old = statement_of(rows.last())
    now = outside.newest(resort().pk)

    proof = tree_of(resort().pk, now.size).consistency_proof(old.size)

    assert 100 < old.size < now.size
    assert is_consistent(old.size, old.root, now.size, now.root, proof)
    assert not is_consistent(old.size, now.root, now.size, now.root, proof)


def test_nobody_is_owed_the_checkpoints_of_the_story_but_the_last():
    plan(site_days(TOLD_AT), at=TOLD_AT)

    owed = {row.checkpoint.made_at for row in CheckpointMail.objects.all()}
    assert owed == {TOLD_AT}


@pytest.fixture(scope="module")
def told_tables(told, django_db_blocker):
    with django_db_blocker.unblock():
        return tables_of(resort(), TOLD_AT)


@pytest.mark.parametrize(
    ("table", "count"),
    [
        ("late_written", 3),
        ("corrections", 18),
        ("softened", 2),
        ("moves", 2),
        ("estimated_readings", 1),
        ("tags", 6),
        ("same_person", 1),
        ("lay_ups", 2),
        ("reports", 2),
        ("unproven", 1),
    ],
)
def test_the_exceptions_of_the_resort_are_told(told_tables, table, count):
    assert len(told_tables.rows(table)) == count


@pytest.mark.parametrize(
    "table", ["late_list", "stopped_moving", "tagged_moving", "part_closed", "cannot_tell"]
)
def test_what_turns_on_the_days_is_told_as_well(told_tables, table):
    assert told_tables.rows(table)


def test_rounds_written_late_count_wait_or_are_countersigned(told_tables):
    rows = {row["cart"]: row for row in told_tables.rows("late_written")}

    stand = {number: (row["days_late"], row["countersign"]) for number, row in rows.items()}
    assert stand == {
        "106": ("2", ""),
        "132": ("9", SIGNED),
        "134": ("8", WAITS),
    }
    assert rows["132"]["countersigned_own"] == "no"


def test_a_struck_reading_counts_no_more():
    struck = Strike.objects.get(cart_id=cart("144").pk)
    taken_back = Reading.objects.get(pk=struck.corrects)

    assert cart("144").hours_shown < taken_back.hours_shown - 800


def test_a_round_on_the_wrong_cart_stands_on_the_right_one(told_tables):
    away, here = sorted(told_tables.rows("moves"), key=lambda row: row["cart"], reverse=True)

    assert (away["cart"], away["moved"]) == ("116", AWAY)
    assert (here["cart"], here["moved"]) == ("110", HERE)
    assert away["round_now"] == here["round_now"]


def test_camber_told_again_after_a_tag_is_marked_as_softened(told_tables):
    turned = {
        (row["cart"], row["what"], row["before"], row["after"])
        for row in told_tables.rows("softened")
    }

    assert turned == {
        ("143", "camber left", "outside", "inside"),
        ("143", "camber right", "outside", "inside"),
    }
    assert not cart("143").is_tagged


def test_what_was_run_before_a_lay_up_is_not_told_as_run_in_it(told_tables):
    assert [row["void"] for row in told_tables.rows("lay_ups")] == ["no", "no"]


def test_labels_of_some_carts_are_photographed(told_tables):
    recorded = {
        row["cart"]: row["photos"]
        for row in told_tables.rows("label_coverage")
        if row["standing"] == "recorded"
    }

    assert recorded == dict.fromkeys(label_photos.NUMBERS, "2")


def test_the_table_of_labels_names_photos_as_the_bundle_does(told_tables):
    named = [row[name] for row in told_tables.rows("labels") for name in PHOTOS]

    copies = Photo.objects.exclude(shows="tape").values_list("copy_sha256", flat=True)
    assert sorted(filter(None, named)) == sorted(copies)


def test_photos_have_their_originals_and_copies_and_differ():
    photos = list(Photo.objects.all())

    of_tape = 1
    differ = {photo.original_sha256 for photo in photos}
    assert len(differ) == 2 * len(label_photos.NUMBERS) + of_tape
    for photo in photos:
        for path, named in (
            (original_path(photo), photo.original_sha256),
            (copy_path(photo), photo.copy_sha256),
        ):
            assert sha256(path.read_bytes()).hexdigest() == named
