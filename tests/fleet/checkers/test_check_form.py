"""FORM.md, for whoever writes a third checker, names what the two checkers know."""

from pathlib import Path

from fleet.bundle import archive
from fleet.checkers import check

FORM = (Path(archive.__file__).parent / "FORM.md").read_text()


def test_it_names_every_check_in_order():
    one_line = " ".join(FORM.split())

    assert ", ".join(check.CHECKS) in one_line


def test_it_names_every_key_of_the_manifest():
    missing = [key for key in (*check.MANIFEST, *check.LISTED) if f"`{key}`" not in FORM]

    assert missing == []


def test_it_names_every_file():
    named = (*check.ALWAYS_THERE, check.ELSEWHERE, check.MISSING_PHOTOS)

    assert [name for name in named if f"`{name}`" not in FORM] == []


def test_it_shows_a_checkpoint_s_lines():
    assert f"    {check.HEADING}\n" in FORM
    assert all(f"    {name} " in FORM for name, _form in check.FORMS)


def test_it_names_what_tables_must_tell_of():
    for kind, (table, fields) in check.TOLD_IN.items():
        (line,) = [line for line in FORM.splitlines() if line.startswith(f"| `{kind}` | ")]
        more = fields - {"id", "cart", "done_at"}

        assert f"`{table}`" in line
        assert [name for name in more if f"`{name}`" not in line] == []


def test_it_names_what_lines_tables_must_tell_of():
    for kind, (since, table, fields) in check.TOLD_SINCE.items():
        more = (since, table, *(fields - {"id", "cart", "done_at"}))
        (said,) = [
            part for part in FORM.split("\n\n") if part.startswith(f"Each `{kind}` of these")
        ]

        assert [name for name in more if f"`{name}`" not in said] == []
    for kind, (table, fields) in check.LINES_IN.items():
        (line,) = [line for line in FORM.splitlines() if line[0:1] == "|" and f"`{kind}`" in line]
        of_line = {name.removeprefix("line:") for name in fields if name.startswith("line:")}

        assert f"`{table}`" in line
        assert [one for one in of_line - {"of", "place"} if f"`{one}`" not in line] == []
    for kind, (table, fields) in check.LINES_IN_FORM_2.items():
        (line,) = [line for line in FORM.splitlines() if line.startswith(f"| `{kind}` | ")]
        named = {name.removeprefix("line:") for name in fields} - {"id", "of", "place"}

        assert f"`{table}`" in line
        assert [one for one in named if f"`{one}`" not in line] == []
