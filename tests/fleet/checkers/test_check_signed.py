"""Bundles that are wrong though the site itself signed them: each rule of the form by itself."""

import io
import zlib
from datetime import timedelta
from uuid import UUID

import pytest

from fleet.bundle.tables import all_tables
from fleet.checkers import check
from shared import checkpoint
from tests.fleet.checkers.building import (
    KEY,
    OTHER_SITE,
    PROOFS,
    READINGS,
    SITE,
    THIEF,
    Draft,
    Story,
    draft_of,
    moment,
    zipped,
)
from tests.fleet.checkers.leaving_out import WAYS, left_out, taken_back_or_later, without_a_cart
from tests.fleet.checkers.tampering import changed


def report_of(draft):
    report, _bundle = check.check(io.BytesIO(zipped(draft.sealed())))
    return report


def told(count=10, **values):
    """Return a story whose last entry says other values."""
    story = Story()
    story.tell(count)
    story.entries[-1] = changed(story.entries[-1], **values)
    return story


def before(story):
    return moment(story.now - timedelta(days=9))


def twice(story):
    return story.entries[0].said["id"]


def above_what_it_corrects():
    story = Story()
    story.tell(4)
    later = story.new_id()
    story.reading(corrects=later, why_corrected="Wrong")
    story.reading(id=later)
    return story


def restore_to_the_same_epoch():
    story = Story()
    story.tell(6)
    story.put_back(4, lost_to=6)
    story.epoch -= 1
    story.put_back(4, lost_to=5)
    return story


ENTRIES_WRONG = {
    "arrived before the entry above it": lambda: told(received_at=before(Story())),
    "arrived after the moment of the bundle": lambda: told(
        received_at="2036-01-01T00:00:00.000000+00:00"
    ),
    "has no moment of arrival": lambda: told(received_at="2026-03-02"),
    "has the id of an entry above it": lambda: told(id=twice(told())),
    "has no id and kind": lambda: told(id="7"),
    "corrects an entry that does not stand above it": lambda: told(corrects=OTHER_SITE),
    "corrects something without an id": lambda: told(corrects="7"),
    "is corrected by entry 5, which stands above it": above_what_it_corrects,
    "is of another site": lambda: told(site=OTHER_SITE),
    "cannot be read": lambda: told(written_at=1.5),
    "is a photo without its hash": lambda: told(kind="shared.photo"),
    "is a restore that does not say what is missing": lambda: told(kind="shared.restore"),
    "tell of restores up to epoch 2": lambda: told(
        kind="shared.restore", epoch=2, missing_from=3, missing_to=4
    ),
    "is a restore that opens no new epoch": lambda: told(
        kind="shared.restore", epoch=1, missing_from=3, missing_to=4
    ),
}


@pytest.mark.parametrize("words", ENTRIES_WRONG)
def test_entry_that_breaks_a_rule_is_named(words):
    report = report_of(draft_of(ENTRIES_WRONG[words]()))

    assert "entries" in report.failed
    assert words in " ".join(report.found["entries"][1])


def a_draft():
    story = Story()
    story.tell(7)
    story.keep_checkpoint()
    story.tell(7)
    return draft_of(story), story


def other_checkpoint(**values):
    draft, story = a_draft()
    said = {"site": UUID(SITE), "epoch": 1, "size": 14, "root": story.root(), "at": story.now}
    private = values.pop("private", KEY)
    draft.files["checkpoint.txt"] = checkpoint.sign(private, **(said | values)).text.encode()
    return draft


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"private": THIEF}, "its key is not the one that signed the manifest"),
        ({"site": UUID(OTHER_SITE)}, "it is of another site"),
        ({"size": 13}, "it is of 13 entries, the manifest says 14"),
    ],
)
def test_checkpoint_must_be_that_of_the_bundle(values, words):
    report = report_of(other_checkpoint(**values))

    assert words in report.found["checkpoint"][1]


def test_photo_of_no_entry_is_named():
    draft, story = a_draft()
    story.photo()
    files = dict(draft.files)
    ((digest, data),) = set(story.photos.items()) - {
        (name[7:-4], content) for name, content in files.items() if name.startswith("photos/")
    }
    photos = {name: files.pop(name) for name in list(files) if name.startswith("photos/")}
    photos[f"photos/{digest}.jpg"] = data
    tail = {name: files.pop(name) for name in list(files) if name.startswith("check")}
    draft.files = files | dict(sorted(photos.items())) | tail

    report = report_of(draft)

    assert report.failed == ["photos"]
    assert f"photos/{digest}.jpg belongs to no entry" in report.found["photos"][1][0]


def test_oldest_checkpoint_needs_its_proof():
    draft, _story = a_draft()
    draft.files[PROOFS] = b"[]"

    assert report_of(draft).found["proofs"] == (
        "FAILED",
        ["there is no proof from the oldest checkpoint"],
    )


def test_files_in_another_order_fail_though_the_manifest_says_so():
    draft, _story = a_draft()
    draft.files = dict(sorted(draft.files.items()))

    assert "files" in report_of(draft).failed


class OtherSide(Draft):
    """Says that a table is not under the fingerprint."""

    def list_files(self):
        super().list_files()
        for file in self.manifest["files"]:
            file["content"] = file["content"] and file["name"] != READINGS


def test_every_table_is_under_the_fingerprint():
    draft, _story = a_draft()

    report = report_of(OtherSide(draft.files, draft.manifest))

    assert f'"{READINGS}" is on the wrong side of the fingerprint' in report.found["files"][1]


def test_table_must_have_the_columns_of_its_metadata():
    draft, _story = a_draft()
    draft.files[READINGS] = draft.files[READINGS].replace(b"hours", b"miles", 1)

    assert "not that of its metadata" in report_of(draft).found["tables"][1][0]


PACKED = zlib.compress(b"said " * 99, wbits=-15)


@pytest.mark.parametrize("odd", [PACKED + b"junk", PACKED[:-3], b"", PACKED + PACKED])
def test_packed_data_ends_where_it_says(odd):
    assert b"".join(check.inflated([PACKED])) == b"said " * 99
    with pytest.raises(check.Spoilt):
        list(check.inflated([odd] if odd else []))


@pytest.mark.parametrize("way", WAYS)
def test_tables_leave_out_no_entry_that_stands(way):
    draft, last = left_out(way)

    report = report_of(draft)

    assert report.failed == ["tables"]
    told = report.found["tables"][1]
    assert f"{READINGS} does not tell of entry {last}, which stands" in told


def test_register_leaves_out_no_cart_that_came():
    draft, last = without_a_cart()

    found = report_of(draft).found["tables"]

    told = f"tables/register.csv does not tell of the cart of entry {last}"
    assert found == ("FAILED", [told])


def test_tables_may_leave_out_what_was_taken_back_or_is_to_happen():
    report = report_of(taken_back_or_later())

    assert report.is_clean, report.found["tables"]


def test_tool_says_what_the_tables_repeat():
    told = {
        table.name: {f"line:{one.field}" if one.in_line else one.field for one in table.columns}
        for table in all_tables()
    }

    assert [name for name, fields in check.REPEATS.items() if not fields <= told[name]] == []
