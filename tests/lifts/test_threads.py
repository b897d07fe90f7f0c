"""Threads and grades as people write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lifts.threads import (
    COARSE_PER_INCH,
    COARSE_PITCH_MM,
    FINE_PER_INCH,
    GRADES,
    Thread,
    proof_load_n,
    proof_mpa,
    read_grade,
    read_thread,
    weakest_grade,
)

M10 = Thread("M10", 10.0, 1.5, is_inch=False)
HALF_FINE = Thread("1/2-20", 12.7, 1.27, is_inch=True)


@pytest.mark.parametrize(
    "text", ["M10", "m10", " M 10 ", "M10x1.5", "M10 X 1.5", "M 10 × 1.50", "M10x1,5", "M10-1.5"]
)
def test_a_coarse_metric_thread_is_one_however_it_is_written(text):
    assert read_thread(text) == M10


@pytest.mark.parametrize(
    "text",
    ["1/2-20", "1/2 - 20", '1/2"-20', "1/2 in x 20", "8/16-20", "1/2-20 UNF", "1/2 unf", "1/2UNF"],
)
def test_an_inch_thread_is_one_however_it_is_written(text):
    assert read_thread(text) == HALF_FINE


@pytest.mark.parametrize(
    ("text", "thread"),
    [
        ("M10x1.25", Thread("M10x1.25", 10.0, 1.25, is_inch=False)),
        ("M11x1", Thread("M11x1", 11.0, 1.0, is_inch=False)),
        ("M39x4", Thread("M39x4", 39.0, 4.0, is_inch=False)),
        ("3/8-16 UNC", Thread("3/8-16", 9.525, 1.5875, is_inch=True)),
        ("7/16-14", Thread("7/16-14", 11.1125, 25.4 / 14, is_inch=True)),
        ("1/4-20", Thread("1/4-20", 6.35, 1.27, is_inch=True)),
        ("1-8", Thread("1-8", 25.4, 3.175, is_inch=True)),
        ("1 UNF", Thread("1-12", 25.4, 25.4 / 12, is_inch=True)),
        ("1 1/8-12", Thread("1 1/8-12", 28.575, 25.4 / 12, is_inch=True)),
        ("1-1/2-6", Thread("1 1/2-6", 38.1, 25.4 / 6, is_inch=True)),
    ],
)
def test_a_thread_is_read(text, thread):
    assert read_thread(text) == thread


@pytest.mark.parametrize(
    "text",
    [
        *("taper", "rod", "spindle", "kit sheet", "", "10", "M", "M4", "M40x3", "3/16-24"),
        *("1 9/16-8", "1 16/16-8", "0/2-20", "1/2/3-20", "1/2-2", "1/2-72", "M10x4", "M10x0.2"),
        *("3/8-16 UNF", "#10-32", "M10x1.25x30", "-1/2-20"),
    ],
)
def test_what_is_no_thread_is_refused_by_its_text(text):
    with pytest.raises(ValueError, match=r"^“(.*)” is not a thread; write it like M10") as refused:
        read_thread(text)

    assert refused.value.holes == {"text": text}


@pytest.mark.parametrize(
    ("text", "how"),
    [
        ("M11", "write it like M10x1.25"),
        ("M10x0", "write it like M10x1.25"),
        ("3/8", "write it like 3/8-16 or 3/8-24"),
        ("1", "write it like 1-8 or 1-12"),
        ("1 1/8 UNF", "write it like 1/2-13 or 1/2-20"),
    ],
)
def test_a_thread_without_its_pitch_says_how_to_write_it(text, how):
    with pytest.raises(ValueError, match=f"^“{text}” needs its .*{how}$"):
        read_thread(text)


@given(st.sampled_from([*COARSE_PITCH_MM]), st.sampled_from(["", "x1", "x1.25", "x0.75"]))
def test_a_metric_thread_reads_back_from_its_own_text(diameter, pitch):
    thread = read_thread(f"M{diameter}{pitch}")

    assert read_thread(thread.text) == thread


@given(st.sampled_from([*COARSE_PER_INCH]), st.sampled_from(["UNC", "UNF"]))
def test_an_inch_thread_reads_back_from_its_own_text(size, series):
    thread = read_thread(f"{size} {series}")

    assert read_thread(thread.text) == thread


@pytest.mark.parametrize("size", COARSE_PER_INCH)
def test_a_fine_thread_carries_more_than_a_coarse_one(size):
    coarse, fine = read_thread(f"{size} UNC"), read_thread(f"{size} UNF")

    assert FINE_PER_INCH[size] > COARSE_PER_INCH[size]
    assert fine.stress_area_mm2 > coarse.stress_area_mm2


@given(st.integers(5, 38), st.floats(1, 1.25))
def test_a_thicker_bolt_carries_more(diameter, pitch):
    thinner = Thread("", diameter, pitch, is_inch=False)
    thicker = Thread("", diameter + 1, pitch, is_inch=False)

    assert thicker.stress_area_mm2 > thinner.stress_area_mm2


@pytest.mark.parametrize(
    ("text", "is_inch", "grade"),
    [
        ("8.8", False, "8.8"),
        (" Class 8.8 ", False, "8.8"),
        ("cl. 10.9", False, "10.9"),
        ("ISO class 4.6", False, "4.6"),
        ("property class 12.9", False, "12.9"),
        ("8,8", False, "8.8"),
        ("G5", True, "5"),
        ("g 8", True, "8"),
        ("grade 5", True, "5"),
        ("Gr. 2", True, "2"),
        ("SAE J429 grade 8", True, "8"),
        ("5", True, "5"),
    ],
)
def test_a_grade_is_read_from_its_mark(text, is_inch, grade):
    assert read_grade(text, is_inch=is_inch) == grade


@pytest.mark.parametrize("is_inch", [True, False])
@pytest.mark.parametrize(
    "text", ["", "none seen", "A2-70", "7", "5.5", "88", "8.8 or 4.6", "not 5", "grade"]
)
def test_an_unknown_mark_is_no_grade(text, is_inch):
    assert read_grade(text, is_inch=is_inch) is None


def test_a_mark_of_the_other_system_is_no_grade():
    assert read_grade("5", is_inch=False) is None
    assert read_grade("8.8", is_inch=True) is None


@pytest.mark.parametrize(("is_inch", "thread"), [(False, M10), (True, HALF_FINE)])
def test_the_weakest_grade_is_proved_to_the_least(is_inch, thread):
    known = [grade for grade in GRADES if read_grade(grade, is_inch=is_inch)]

    least = min(known, key=lambda grade: proof_mpa(grade, thread))

    assert weakest_grade(is_inch) == least
    assert known == sorted(known, key=lambda grade: proof_mpa(grade, thread))


def test_every_grade_belongs_to_one_system():
    systems = [
        [is_inch for is_inch in (True, False) if read_grade(grade, is_inch=is_inch)]
        for grade in GRADES
    ]

    assert systems == [[False]] * 7 + [[True]] * 3


@pytest.mark.parametrize(
    ("grade", "thread"), [("8.8", HALF_FINE), ("5", M10), ("", M10), ("A2-70", M10)]
)
def test_a_grade_does_not_go_with_the_other_kind_of_thread(grade, thread):
    with pytest.raises(ValueError, match=f"grade '{grade}' does not go with a thread"):
        proof_mpa(grade, thread)


def test_a_size_beyond_the_standard_has_no_proof():
    with pytest.raises(ValueError, match="no grade 5 for a thread 1 5/8-8"):
        proof_mpa("5", Thread("1 5/8-8", 41.275, 3.175, is_inch=True))


def test_the_proof_load_is_proof_stress_times_area():
    square = Thread("", 10.0, 1.5, is_inch=False)

    assert proof_load_n("8.8", square) == 580 * square.stress_area_mm2
