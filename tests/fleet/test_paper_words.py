"""Texts made printable, and cells worded: by the fonts' own figures and by hand."""

import json
import random

import pytest
from PIL import ImageFont

from fleet.bundle.paper.letters import BOLD, FOLDER, REGULAR, bold, regular
from fleet.bundle.paper.press import press
from fleet.bundle.paper.reading import ByCart, spaced, worded
from fleet.bundle.paper.wording import LONGEST, clipped, fitted, is_shown, printable
from tests.fleet.papers import a_cart, id_of, tell

NEW_YORK = "America/New_York"


# FreeType, by Pillow, reads the same files with code that is not ours
@pytest.mark.parametrize(("name", "letters"), [(REGULAR, regular()), (BOLD, bold())])
def test_letters_are_as_wide_as_another_reader_says(name, letters):
    font = ImageFont.truetype(FOLDER / name, 2048, layout_engine=ImageFont.Layout.BASIC)

    for letter in "iMW0 -.éŁΩж½→שم":
        assert letters.width_em(letter) * 2048 == pytest.approx(font.getlength(letter), abs=1)


def test_a_word_too_wide_is_broken_into_pieces_that_fit():
    word = "Wheelnutwheelnutwheelnut" * 3

    pieces = fitted(f"short {word} end", 60, 7.5).split(" ")[1].split("\u200b")

    assert "".join(pieces) == word
    widths = [sum(map(regular().width_em, piece)) * 7.5 for piece in pieces]
    assert max(widths) <= 60
    assert min(widths[:-1]) > 50


def test_a_word_that_fits_is_left_alone():
    assert fitted("nothing here is wide", 60, 7.5) == "nothing here is wide"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Łódź, ½ → 21 N·m", "Łódź, ½ → 21 N·m"),
        ("漢字", "[U+6F22][U+5B57]"),
        ("a\u202eb\u200bc\u00add", "a[U+202E]b[U+200B]c[U+00AD]d"),
        ("nul\0bell\a", "nul[U+0000]bell[U+0007]"),
        ("one\r\ntwo\rthree\tfour", "one\ntwo\nthree four"),
        ("\ue000\U0010ffff", "[U+E000][U+10FFFF]"),
    ],
)
def test_what_cannot_be_shown_stands_as_its_number(text, shown):
    assert printable(text) == shown


def test_a_long_text_is_clipped_and_says_so():
    assert clipped("x" * LONGEST) == "x" * LONGEST
    assert clipped("x" * (LONGEST + 1)) == "x" * LONGEST + " […]"


def test_any_characters_at_all_can_be_set(tmp_path):
    numbers = (number for number in range(0x110000) if not 0xD800 <= number < 0xE000)
    everything = [chr(number) for number in numbers]
    random.Random(7).shuffle(everything)
    shown = [letter for letter in everything if is_shown(letter)]
    texts = ["".join(shown[start : start + 9]) for start in range(0, len(shown), 9)]
    texts += [printable("".join(everything[start : start + 9])) for start in range(0, 900, 9)]
    rows = [[text] for text in texts]
    grid = {"kind": "grid", "widths": [150], "right": [False], "titles": ["A"], "rows": rows}
    document = {
        "title": "Letters",
        "lang": "en",
        "sheet": "a4",
        "made": [2026, 1, 1, 0, 0, 0],
        "foot": ["", ""],
        "page": "",
        "file": "",
        "sections": [{"turned": False, "blocks": [grid]}],
    }

    press(document, tmp_path / "letters.pdf")

    assert len(shown) > 5000
    assert (tmp_path / "letters.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("cell", "shown"),
    [
        (id_of(7), "00000007"),
        ("0123456789abcdef" * 4, "0123456789abcdef"),
        ("2026-03-10T09:05:59-04:00", "2026-03-10 09:05"),
        ("2026-03-10", "2026-03-10"),
        # the clocks of New York went back at 02:00 on that day
        ("2026-11-01T01:30:00-04:00", "2026-11-01 01:30 -04:00"),
        ("2026-11-01T01:30:00-05:00", "2026-11-01 01:30 -05:00"),
        ("2026-11-01T02:30:00-05:00", "2026-11-01 02:30"),
        ("'=1+1", "=1+1"),
        ("' \t@x", " \t@x"),
        ("'tis", "'tis"),
        ("", ""),
    ],
)
def test_cells_are_worded_short(cell, shown):
    assert worded(cell, NEW_YORK) == shown


def test_rows_are_read_along_with_the_carts_of_a_batch_in_any_order(tmp_path):
    rows = [{**a_cart(number), "text": f"{place}"} for place, number in enumerate((2, 1, 2, 3, 5))]
    tables = tell(tmp_path / "tables", reports=rows)
    reports = ByCart(tables / "reports.csv")

    first, second = reports.of([id_of(1), id_of(2)]), reports.of([id_of(3), id_of(4), id_of(5)])

    texts = {cart: [row["text"] for row in told] for cart, told in {**first, **second}.items()}
    assert texts == {
        id_of(1): ["1"],
        id_of(2): ["0", "2"],
        id_of(3): ["3"],
        id_of(4): [],
        id_of(5): ["4"],
    }


def test_a_body_is_printed_with_its_values_as_they_are_and_places_to_break():
    # RFC 8785 puts no space between members
    body = '{"note":"a,b\\" ,\\"ü","said":["1","2"]}'

    assert spaced(body) == '{"note":"a,b\\" ,\\"ü", "said":["1", "2"]}'
    assert json.loads(spaced(body)) == json.loads(body)
