"""Damaged and deceiving ZIPs: no crash, never "nothing failed", within bounds of memory."""

import io
import random
import time
import tracemalloc
import warnings

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.checkers import check
from tests.fleet.checkers import damage
from tests.fleet.checkers.building import ENTRIES, bundle_of, draft_of, zipped
from tests.fleet.checkers.tampering import small_story

TIMES = 10
STORY = small_story(3)
FILES = draft_of(STORY).sealed()
WHOLE = bundle_of(STORY)
MOST_BYTES = 32 * 2**20


def found(data):
    """Return the verdicts of a check, None where it could not begin."""
    try:
        report, _bundle = check.check(io.BytesIO(data))
    except check.CannotBegin:
        return None
    assert report.is_clean == (not report.failed), report.verdicts
    return report


def is_believed(data):
    report = found(data)
    return report is not None and report.is_clean


@pytest.mark.parametrize("damaged", damage.DAMAGES)
def test_damaged_zip_is_never_believed(damaged):
    for seed in range(TIMES):
        with warnings.catch_warnings(action="ignore"):
            data = damaged(FILES, random.Random(f"{damaged.__name__} {seed}"))

        assert data != WHOLE
        assert not is_believed(data), seed


def test_two_hundred_are_tried():
    assert TIMES * len(damage.DAMAGES) >= 200


def test_every_byte_counts():
    """One flipped bit in each of many bytes; the stride is prime to the sizes."""
    for place in range(0, len(WHOLE), 37):
        data = bytearray(WHOLE)
        data[place] ^= 0x80

        assert not is_believed(bytes(data)), place


def test_bomb_is_refused_before_it_unpacks():
    data = zipped({**FILES, ENTRIES: bytes(64 * 2**20)})
    tracemalloc.start()

    assert not is_believed(data)

    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < MOST_BYTES


@given(st.binary(max_size=2000))
def test_any_bytes_are_refused(data):
    assert found(data) is None or found(data).failed


@given(st.binary(max_size=400))
def test_any_bytes_after_the_mark_of_a_zip_are_refused(data):
    assert not is_believed(b"PK\x03\x04" + data)


@given(st.data())
def test_mutated_headers_are_refused(data):
    """Several bytes of headers change at once."""
    spots = st.integers(0, 29) | st.integers(len(WHOLE) - 1200, len(WHOLE) - 1)
    mutated = bytearray(WHOLE)
    for place, value in data.draw(st.dictionaries(spots, st.integers(0, 255), min_size=1)).items():
        mutated[place] = value

    assert bytes(mutated) == WHOLE or not is_believed(bytes(mutated))


NAMES = sorted(FILES)


@given(name=st.sampled_from(NAMES), content=st.binary(max_size=300))
def test_any_content_of_a_file_is_refused(name, content):
    assert content == FILES[name] or not is_believed(zipped({**FILES, name: content}))


@given(name=st.sampled_from(NAMES), data=st.data())
def test_spliced_content_of_a_file_is_refused(name, data):
    """A piece of a file is replaced, in a manifest that the signer agrees to or not."""
    whole = FILES[name]
    start = data.draw(st.integers(0, len(whole)))
    piece = data.draw(st.binary(max_size=40))
    spliced = whole[:start] + piece + whole[start + data.draw(st.integers(0, 40)) :]

    assert spliced == whole or not is_believed(zipped({**FILES, name: spliced}))


ODD_JSON = st.sampled_from(
    [
        "[" * 9000,
        "9" * 9000,
        '{"a":1.5}',
        "1e999",
        "NaN",
        '"\\ud800"',
        "{}",
        "[]",
        "null",
        "\ufeff{}",
    ]
)


@given(
    name=st.sampled_from(["journal/proofs.json", "tables/readings.csv-metadata.json"]), odd=ODD_JSON
)
def test_odd_json_that_was_signed_does_not_crash(name, odd):
    draft = draft_of(STORY)
    draft.files[name] = odd.encode()

    assert not is_believed(zipped(draft.sealed()))


ODD_CSV = st.sampled_from(
    [b'"open', b'a"b,\r\n', b"\xff\xfe", b"\0\r\n", b"\r\r\n", b"a,b\n", b'"a"b\r\n', b"," * 500]
)


@given(odd=ODD_CSV, place=st.integers(0, 400))
def test_odd_csv_that_was_signed_does_not_crash(odd, place):
    draft = draft_of(STORY)
    table = draft.files["tables/readings.csv"]
    draft.files["tables/readings.csv"] = table[:place] + odd + table[place:]

    found(zipped(draft.sealed()))


LINE = STORY.entries[0].line()


@given(start=st.integers(0, len(LINE)), piece=st.binary(max_size=12), gone=st.integers(0, 12))
def test_odd_entry_that_was_signed_is_refused(start, piece, gone):
    draft = draft_of(STORY)
    odd = LINE[:start] + piece + LINE[start + gone :]
    draft.files[ENTRIES] = draft.files[ENTRIES].replace(LINE, odd)

    assert odd == LINE or not is_believed(zipped(draft.sealed()))


def test_a_record_made_of_quotes_is_soon_refused():
    record = b'"a' + b'""b' * 2**15 + b'"x\r'
    began = time.process_time()

    with pytest.raises(check.Spoilt):
        check.cells_of(record)

    assert time.process_time() - began < 5
