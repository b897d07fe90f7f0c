from decimal import Decimal

import pytest

from alignment.pitches import read_pitch
from shared.units import Unreadable


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1.25 mm", "1.25"),
        ("1,5 mm", "1.5"),
        ("0.05 in", "1.27"),
        # 20 threads an inch is 1.27 mm: UNF of 7/16 in in ASME B1.1
        ("20 a inch", "1.27"),
        ("20 an inch", "1.27"),
        ("20 per inch", "1.27"),
        ("20 threads an inch", "1.27"),
        (" 20 TPI ", "1.27"),
        ("20/in", "1.27"),
        ("16 to the inch", "1.5875"),
    ],
)
def test_read_pitch_takes_mm_and_threads_an_inch(text, mm):
    assert read_pitch(text).si == Decimal(mm)


def test_read_pitch_keeps_what_was_typed():
    assert read_pitch("20 an inch").typed == "20 an inch"


@pytest.mark.parametrize("text", ["20", "1.25", "1/20"])
def test_read_pitch_asks_which_of_a_bare_number(text):
    with pytest.raises(Unreadable, match="say mm, or how many threads an inch"):
        read_pitch(text)


@pytest.mark.parametrize("text", ["12 mm", "0.1 mm", "0 an inch", "3 an inch", "200 an inch"])
def test_read_pitch_refuses_what_no_thread_has(text):
    with pytest.raises(Unreadable, match="is no pitch of a thread"):
        read_pitch(text)


@pytest.mark.parametrize("text", ["fine", "1.2.5 an inch", "1.25 kg", "-1 mm and more"])
def test_read_pitch_refuses_what_it_cannot_read(text):
    with pytest.raises(Unreadable):
        read_pitch(text)
