"""What check.py says of whole bundles: growth, restores, keys, scope, tables, the sample."""

import hashlib
import io
import json
import math
from dataclasses import replace

import pytest

from fleet.checkers import check
from tests.fleet.checkers.building import (
    ELSEWHERE,
    ENTRIES,
    KEY,
    LAST_KEY,
    LATER_KEY,
    OTHER_SITE,
    READINGS,
    THIEF,
    Story,
    a_story,
    bundle_of,
    canonical,
    draft_of,
    hex_of,
    hidden,
    zipped,
)


def checked(data, *texts, key=None):
    given = [one for text in texts for one in check.given_checkpoints("kept", text)]
    report, _bundle = check.check(io.BytesIO(data), given, key)
    return report


def said(report, name):
    return " ".join(report.found[name][1])


def test_whole_bundle_passes_every_check():
    report = checked(bundle_of(a_story()))

    assert report.is_clean
    asked = [verdict for name, verdict in report.verdicts if name != "given-checkpoint"]
    assert asked == ["ok"] * 12


def test_history_that_only_grew_is_said_so():
    story = Story()
    story.tell(20)
    kept = story.keep_checkpoint()
    story.tell(20)

    report = checked(
        bundle_of(story), f"Dear insurer,\r\n> {kept.replace(chr(10), chr(10) + '> ')}"
    )

    assert report.is_clean
    assert "epoch 1, 20 entries, 2026-03-02: this history only grew from it" in said(
        report, "given-checkpoint"
    )


def test_rewritten_history_names_the_range_between_what_agrees_and_what_does_not():
    story, genuine = Story(), Story()
    for one in (story, genuine):
        one.tell(10)
    first = genuine.sign().text
    genuine.tell(10)
    second = genuine.sign().text
    story.reading(typed="another history")
    story.tell(20)

    report = checked(bundle_of(story), first, second)

    assert "entries 11 to 20 are not those that it was signed over" in said(
        report, "given-checkpoint"
    )
    assert report.failed == ["given-checkpoint"]


def test_root_names_the_range_between_earlier_checkpoints():
    story = a_story(30)
    draft = draft_of(story)
    lines = draft.files[ENTRIES].splitlines(keepends=True)
    other = Story(5)
    other.tell(14)
    lines[13] = other.entries[13].line()
    draft.files[ENTRIES] = b"".join(lines)

    report = checked(zipped(draft.sealed()))

    assert "entries 11 to 20 are not those" in said(report, "root")
    assert "entries 11 to 20 are not those" in said(report, "earlier-checkpoints")


def test_rotated_key_is_followed():
    story = Story()
    story.tell(9)
    kept = story.keep_checkpoint()
    story.rotate(LATER_KEY)
    story.tell(9)
    story.rotate(LAST_KEY)

    assert checked(bundle_of(story), kept).is_clean
    assert checked(bundle_of(story), key=hex_of(KEY)).is_clean
    assert checked(bundle_of(story), key=hex_of(LATER_KEY)).is_clean
    assert checked(bundle_of(story), key=hex_of(THIEF)).failed == ["key"]


def test_key_that_the_old_one_did_not_sign_is_named():
    story = Story()
    story.tell(9)
    kept = story.keep_checkpoint()
    story.rotate(THIEF, signed_by=THIEF)

    report = checked(bundle_of(story), kept)

    assert report.failed == ["earlier-checkpoints", "key", "given-checkpoint"]
    assert "entry 10 changes the key, and the old key did not sign it" in said(report, "key")


def test_it_says_whose_key_was_trusted():
    story = a_story()
    data, kept = bundle_of(story), story.checkpoints[0].text

    assert "only the bundle's own key" in said(checked(data), "key")
    assert "the key of the checkpoint that you gave" in said(checked(data, kept), "key")
    assert "the public key that you gave" in said(checked(data, kept, key=hex_of(KEY)), "key")


def a_restored_story():
    """Return a story that lost entries 16 to 30, and what was kept at 10, at 30 and since."""
    story = Story()
    story.tell(10)
    early = story.keep_checkpoint()
    story.tell(20)
    lost = story.keep_checkpoint()
    story.put_back(15, lost_to=30, reason="The disk of the server died")
    since = story.keep_checkpoint()
    story.tell(20)
    return story, early, lost, since


def test_declared_restore_is_clean_and_keeps_what_it_kept():
    story, early, _lost, since = a_restored_story()

    report = checked(bundle_of(story), early, since)

    assert report.is_clean
    assert "3 signed before" in said(report, "earlier-checkpoints")
    assert "1 of them beyond what a restore kept" in said(report, "earlier-checkpoints")
    assert "entry 16 records a restore: entries 16 to 30 are missing" in said(report, "entries")


def test_checkpoint_beyond_a_restore_fails_with_what_is_missing():
    story, _early, lost, _since = a_restored_story()

    report = checked(bundle_of(story), lost)

    assert report.failed == ["given-checkpoint"]
    assert "entries 16 to 30 are not here. Entry 16 records" in said(report, "given-checkpoint")
    assert "The disk of the server died" in said(report, "given-checkpoint")


def test_checkpoint_of_a_later_epoch_fails():
    since = a_restored_story()[3]
    older = Story()
    older.tell(10)

    report = checked(bundle_of(older), since)

    assert "or the bundle was rolled back" in said(report, "given-checkpoint")


def test_checkpoint_of_another_site_fails():
    story = a_story()
    other = checked(bundle_of(story), story.sign().text.replace("b71d", "00ff"))

    assert "1 checkpoint, of another site" in said(other, "given-checkpoint")
    assert OTHER_SITE.endswith("00ff")


def test_edited_checkpoint_fails():
    story = a_story()

    report = checked(bundle_of(story), story.checkpoints[0].text.replace("size 13", "size 12"))

    assert "its signature is not that of its key" in said(report, "given-checkpoint")


def test_entries_outside_the_scope_stand_by_their_hash():
    story = a_story()
    entries = [hidden(entry) if entry.seq % 3 == 0 else entry for entry in story.entries]

    report = checked(zipped(draft_of(story, entries, lifted_only=True).sealed()))

    assert report.is_clean, list(report.lines())
    assert "27 of them in full, 13 outside the scope by hash alone" in said(report, "entries")


def test_entry_may_not_hide_where_nothing_is_left_out():
    story = a_story()
    entries = [hidden(entry) if entry.seq == 3 else entry for entry in story.entries]

    report = checked(zipped(draft_of(story, entries).sealed()))

    assert "entry 3 is shown by its hash alone" in said(report, "entries")


@pytest.mark.parametrize(("with_names", "failed"), [(False, []), (True, ["entries"])])
def test_owner_is_withheld_only_where_names_are(with_names, failed):
    story = a_story()
    draft = draft_of(story, [replace(story.entries[0], body=b""), *story.entries[1:]])
    draft.manifest["with_names"] = with_names
    line = b'"seq":1}\n'
    draft.files[ENTRIES] = draft.files[ENTRIES].replace(line, b'"seq":1,"withheld":"owner"}\n', 1)

    report = checked(zipped(draft.sealed()))

    assert report.failed == failed
    if not failed:
        assert "1 withheld for an owner's reference" in said(report, "entries")


def with_file_after(draft, before, name, data):
    """Put a file after another one."""
    pairs = []
    for other, content in draft.files.items():
        pairs += [(other, content), (name, data)] if other == before else [(other, content)]
    draft.files = dict(pairs)


def test_rows_of_another_site_are_counted_and_not_compared():
    story = a_story()
    draft, gone = draft_of(story), story.new_id()
    with_file_after(draft, "journal/proofs.json", ELSEWHERE, f"{gone}\n".encode())
    draft.files[READINGS] += f"{gone},,,,,,,,\r\n".encode()

    report = checked(zipped(draft.sealed()))

    assert report.is_clean, list(report.lines())
    assert "rows of entries in the journal of another site: 1," in said(report, "tables")


def test_own_entry_cannot_be_said_to_stand_elsewhere():
    story = a_story()
    draft, own = draft_of(story), story.entries[4].said["id"]
    with_file_after(draft, "journal/proofs.json", ELSEWHERE, f"{own}\n".encode())

    assert checked(zipped(draft.sealed())).failed == ["tables"]


def test_photo_that_was_left_out_is_named():
    story = a_story()
    draft, digest = draft_of(story), sorted(story.photos)[-1]
    del draft.files[f"photos/{digest}.jpg"]
    last = [name for name in draft.files if name.startswith("photos/")][-1]
    with_file_after(draft, last, "photos/missing.txt", f"{digest} does not match\n".encode())

    report = checked(zipped(draft.sealed()))

    assert report.failed == ["photos"]
    assert f"{digest} was left out when the bundle was made (does not match)" in said(
        report, "photos"
    )


@pytest.mark.parametrize(
    ("cell", "value", "is_number", "agreed"),
    [
        ("", None, False, True),
        ("", "", False, True),
        ("x", None, False, False),
        ("yes", True, False, True),
        ("no", True, False, False),
        ("412", "412.000", True, True),
        ("412", "412.000", False, False),
        ("412.5", "412.500", True, True),
        ("0", "-0.000", True, True),
        ("412.6", "412.500", True, False),
        ("4.125e2", "412.5", True, False),
        ("7", 7, True, True),
        ("'=1+1", "=1+1", False, True),
        ("' =1+1", " =1+1", False, True),
        ("'x", "x", False, False),
        ("2026-03-02T08:00:00-05:00", "2026-03-02T13:00:00.999999+00:00", False, True),
        ("2026-03-02T08:00:01-05:00", "2026-03-02T13:00:00.999999+00:00", False, False),
        ("2026-03-02T08:00:00.5-05:00", "2026-03-02T13:00:00.500000+00:00", False, True),
        ("2026-03-01", "2026-03-02T03:00:00.000000+00:00", False, True),
        ("2026-03-02", "2026-03-02T03:00:00.000000+00:00", False, False),
        ("2026-13-45T08:00:00Z", "2026-03-02T13:00:00.000000+00:00", False, False),
        ("[1]", [1], False, True),
    ],
)
def test_cell_says_what_its_entry_says(cell, value, is_number, agreed):
    zone = check.zone_named("America/New_York")

    assert check.agrees(cell, value, is_number, zone) is agreed


def test_changed_cell_that_was_signed_is_named():
    draft = draft_of(a_story())
    table = draft.files[READINGS]
    row = table.split(b"\r\n")[1]
    hours = row.split(b",")[3]
    draft.files[READINGS] = table.replace(row, row.replace(b"," + hours + b",", b",1.5,"))

    report = checked(zipped(draft.sealed()))

    assert report.failed == ["tables"]
    assert 'tables/readings.csv row 1: hours is "1.5", its entry says' in said(report, "tables")


@pytest.mark.parametrize("count", range(13))
def test_sample_is_the_root_plus_one(count):
    """The rule of the bundle's form, computed here another way."""
    carts = [(f"cart {n}", f"{n}") for n in range(count)]
    order = sorted(carts, key=lambda c: hashlib.sha256(b"42|" + c[0].encode()).hexdigest())

    found = check.sample_of("42", carts)

    assert found == order[: min(count, math.ceil(math.sqrt(count) + 1))]


def test_sample_takes_lifted_carts_that_are_there():
    _report, bundle = check.check(io.BytesIO(bundle_of(a_story())))

    carts = check.lifted_carts(bundle.archive)

    assert [number for _id, number in carts] == ["1", "2", "4", "6", "7", "8", "9", "11", "12"]


def test_text_from_a_bundle_cannot_disturb_a_terminal():
    assert check.shown("a\x1b[2Jb\n") == '"a?[2Jb?"'


@pytest.mark.parametrize(
    "odd",
    [b'{"b":1,"a":2}', b'{"a":1.5}', b'{"a": 1}', b'{"a":9007199254740992}', b'{"a":"\\u0061"}'],
)
def test_only_canonical_json_is_read(odd):
    with pytest.raises(check.Spoilt):
        check.read_canonical(odd)


def test_keys_stand_in_the_order_of_utf_16():
    """RFC 8785 section 3.2.3 sorts a surrogate pair before U+FB33."""
    value = {"\ufb33": 1, "\U0001f600": 2, "\u20ac": 3}

    text = check.canonical(value)

    assert list(json.loads(text)) == ["\u20ac", "\U0001f600", "\ufb33"]
    assert check.read_canonical(text.encode()) == value
    assert canonical({"a": [1, "b"]}) == check.canonical({"a": [1, "b"]}).encode()
