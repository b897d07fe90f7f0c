"""Bundles as the tool writes them, checked both ways."""

import io
import json
import re
import zipfile

import pytest

from fleet.actions import register
from fleet.actions.meters import add_reading
from fleet.checkers import check
from fleet.sample import sample_of
from shared import sealing
from shared.models import Checkpoint
from tests.fleet.bundling import Fleet, bundled, on
from tests.fleet.checkers.both_ways import by_page, by_python
from tests.fleet.lift_story import KINDS, tell_of_lifts

pytestmark = pytest.mark.django_db

THEN, NOW = on(3, 9), on(3, 20)
SCOPES = {
    "all": {},
    "lifted": {"lifted_only": True},
    "since": {"from_day": on(3, 4).date()},
    "names": {"with_names": True},
}


@pytest.fixture
def fleet():
    fleet = Fleet("harbour")
    fleet.carts = fleet.tell_everything()
    return fleet


def packed(site, folder, at=NOW, **scope):
    bundled(site, folder, at, **scope)
    path = folder / "bundle.zip"
    data = path.read_bytes()
    path.unlink()
    return data


def kept_by(site):
    """Return the newest checkpoint that was signed of a site, as it was mailed."""
    newest = Checkpoint.objects.filter(site=site).order_by("made_at", "pk").last()
    return sealing.statement_of(newest).text


def report_of(data, text=""):
    given = check.given_checkpoints("kept", text) if text else []
    return check.check(io.BytesIO(data), given)


@pytest.mark.parametrize("scope", SCOPES)
def test_bundle_of_the_tool_is_clean(fleet, tmp_path, scope):
    report, _bundle = report_of(packed(fleet.site, tmp_path, **SCOPES[scope]))

    assert report.is_clean, list(report.lines())
    assert "of them in full" in report.found["entries"][1][0]
    assert not report.found["tables"][1][0].count("; 0 cells of them")


@pytest.mark.parametrize("scope", SCOPES)
def test_bundle_with_all_that_lifts_record_is_clean(fleet, tmp_path, scope):
    """Entries of before the later columns, which lack their keys, stand among those after."""
    tell_of_lifts(fleet, fleet.carts["7"])

    data = packed(fleet.site, tmp_path, **SCOPES[scope])
    report, _bundle = report_of(data)

    assert report.is_clean, list(report.lines())
    bodies = bodies_of(data)
    assert {body["kind"] for body in bodies} >= KINDS
    keys = [set(body) for body in bodies if body["kind"] == "lifts.brakecheck"]
    assert any("is_even" in some for some in keys)
    if scope != "since":
        assert any("is_even" not in some for some in keys)


def bodies_of(data):
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        lines = archive.read("journal/entries.jsonl").splitlines()
    said = [json.loads(line) for line in lines]
    return [line["body"] for line in said if "body" in line]


@pytest.mark.browser
def test_bundle_with_all_that_lifts_record_is_clean_in_the_page(fleet, tmp_path, opened):
    tell_of_lifts(fleet, fleet.carts["7"])
    data = packed(fleet.site, tmp_path)

    assert by_page(opened, data) == by_python(data)
    assert opened.inner_text("#conclusion") == "nothing failed"


@pytest.mark.browser
@pytest.mark.parametrize("scope", SCOPES)
def test_bundle_of_the_tool_is_clean_in_the_page(fleet, tmp_path, opened, scope):
    first = packed(fleet.site, tmp_path, THEN)
    text = kept_by(fleet.site)
    data = packed(fleet.site, tmp_path, **SCOPES[scope])

    assert first != data
    assert by_page(opened, data, text) == by_python(data, text)
    assert opened.inner_text("#conclusion") == "nothing failed"


def test_history_only_grew_from_the_checkpoint_of_an_earlier_bundle(fleet, tmp_path):
    packed(fleet.site, tmp_path, THEN)
    text = kept_by(fleet.site)
    add_reading(fleet.carts["7"], hours="431", by=fleet.mechanic, at=on(3, 12))

    report, bundle = report_of(packed(fleet.site, tmp_path), text)

    assert report.is_clean, list(report.lines())
    assert "this history only grew from it" in report.found["given-checkpoint"][1][0]
    assert len(bundle.earlier) == 1


def test_rotated_key_and_restore_are_followed(fleet, tmp_path):
    packed(fleet.site, tmp_path, THEN)
    text = kept_by(fleet.site)
    sealing.rotate_key(by=fleet.manager, at=on(3, 12))

    report, bundle = report_of(packed(fleet.site, tmp_path), text)

    assert report.is_clean, list(report.lines())
    assert {one.is_signed for one in bundle.journal.rotations} == {True}


def test_key_that_changed_after_the_entries_shown_is_followed(fleet, tmp_path):
    packed(fleet.site, tmp_path, THEN)
    text = kept_by(fleet.site)
    sealing.rotate_key(by=fleet.manager, at=on(3, 12))

    report, bundle = report_of(packed(fleet.site, tmp_path, THEN), text)

    assert report.is_clean, list(report.lines())
    assert [one.told for one in bundle.journal.rotations] == ["change 1 of journal/keys.json"]


def test_lost_key_is_told_and_not_followed(fleet, tmp_path):
    packed(fleet.site, tmp_path, THEN)
    text = kept_by(fleet.site)
    sealing.rotate_key(by=fleet.manager, at=on(3, 12), lost=True)
    data = packed(fleet.site, tmp_path)

    report, _bundle = report_of(data)
    with_kept, _bundle = report_of(data, text)

    assert report.is_clean, list(report.lines())
    assert "gives up a lost key: none can be followed past it" in report.found["key"][1][0]
    assert "1 of them by a key that was lost" in report.found["earlier-checkpoints"][1][0]
    assert with_kept.failed == ["key", "given-checkpoint"]


@pytest.mark.browser
@pytest.mark.parametrize("lost", [False, True])
def test_page_follows_keys_as_the_command_does(fleet, tmp_path, opened, lost):
    packed(fleet.site, tmp_path, THEN)
    text = kept_by(fleet.site)
    sealing.rotate_key(by=fleet.manager, at=on(3, 12), lost=lost)
    for cut in (THEN, on(3, 13)):
        data = packed(fleet.site, tmp_path, cut)

        assert by_page(opened, data, text) == by_python(data, text)


def test_cart_that_came_from_another_site_is_told_as_not_proved(fleet, tmp_path):
    other = Fleet("osprey")
    register.move_cart(fleet.carts["10"], other.site, by=fleet.manager, at=on(3, 15))

    report, _bundle = report_of(packed(other.site, tmp_path))

    assert report.is_clean, list(report.lines())
    told = report.found["tables"][1][0]
    assert re.search(r"in the journal of another site: [1-9]\d*, which this bundle does not", told)


def test_one_changed_byte_in_any_file_names_it(fleet, tmp_path):
    data = packed(fleet.site, tmp_path)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        members = [info for info in archive.infolist() if info.compress_size]
    for info in members:
        spoilt = bytearray(data)
        place = info.header_offset + 30 + len(info.filename) + info.compress_size - 1
        # the last byte has bits that deflate leaves unused
        spoilt[place] ^= 0x80

        report, _bundle = report_of(bytes(spoilt))

        told = " ".join(report.lines())
        assert report.failed, info.filename
        assert info.filename in told or info.filename == "manifest.signature", told


def test_sample_is_that_of_the_tool(fleet, tmp_path):
    _report, bundle = report_of(packed(fleet.site, tmp_path))
    carts = check.lifted_carts(bundle.archive)
    ids = [cart_id for cart_id, _number in carts]

    assert {number for _id, number in carts} == {"7", "10"}
    assert [cart_id for cart_id, _number in check.sample_of("42", carts)] == sample_of("42", ids)
