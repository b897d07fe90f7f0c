"""No text that people typed is run by a spreadsheet (OWASP, CSV Injection)."""

import re
import shutil
import subprocess

import pytest

from fleet.actions.tags import report
from fleet.bundle.cells import TableFile
from fleet.bundle.columns import Column, Table
from shared.tables import RUNS_AS_FORMULA
from tests.fleet.bundling import Fleet, bundled, on
from tests.round_factories import a_round

NOW = on(3, 20)
NASTY = ["=HYPERLINK(1)", "+1", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "＝1", " =1"]
LIVE = ["=1+1", "+1+1", "-1+1", "@SUM(1)", '=HYPERLINK("x")', "=cmd|' /C calc'!A0", "=A1"]
OPENERS = [f"{space}{text}" for text in LIVE for space in ("", " ", "\t", "\r", "\u00a0")] + NASTY
SOFFICE = shutil.which("soffice") or shutil.which("libreoffice")
# comma, quote, UTF-8, from line 1, and formulas evaluated where there are any
AS_CSV = "CSV:44,34,76,1,,0,false,true,false,false,false,-1,true"


@pytest.mark.django_db
def test_no_cell_is_taken_for_a_formula(tmp_path):
    fleet = Fleet("harbour")
    cart = fleet.lifted("=7+1", on(3, 2))
    for place, text in enumerate(NASTY):
        at = on(3, 4, 9, place)
        a_round(cart, at=at, by=fleet.mechanic, note=text, parts=("joints",))
        report(cart, "noise", note=text, by=fleet.mechanic, at=at)

    read = bundled(fleet.site, tmp_path, NOW)

    assert {row["text"] for row in read.rows("reports")} == {f"'{text}" for text in NASTY}
    assert {row["cart"] for row in read.rows("rounds")} == {"'=7+1"}
    for name in read.tables:
        for row in read.rows(name.removesuffix(".csv")):
            for value in row.values():
                plain = re.fullmatch(r"-?\d+(\.\d+)?", value)
                assert plain or not value.lstrip(" \u00a0").startswith(RUNS_AS_FORMULA), value


@pytest.mark.skipif(not SOFFICE, reason="LibreOffice (soffice) is not installed")
def test_a_spreadsheet_runs_no_cell(tmp_path):
    table = Table("openers.csv", "", (Column("text", ""),), None)
    file = TableFile(tmp_path / "openers.csv", table)
    file.add([{"text": text} for text in OPENERS])
    file.close()
    (tmp_path / "live.csv").write_text(
        "".join(f'"{text.replace(chr(34), chr(34) * 2)}"\r\n' for text in LIVE)
    )

    guarded, live = (opened(tmp_path / name, tmp_path) for name in ("openers.csv", "live.csv"))

    assert guarded.count("table:formula=") == 0
    assert guarded.count("office:value-type=") == len(OPENERS) + 1
    # the same openers without the guard are run: so the first figure could have been another
    assert live.count("table:formula=") > 2


def opened(path, folder):
    """Return the sheet as LibreOffice has it once it opened the file, as flat XML."""
    home = f"-env:UserInstallation=file://{folder}/home"
    command = [SOFFICE, home, "--headless", f"--infilter={AS_CSV}", "--convert-to", "fods"]
    subprocess.run(
        [*command, "--outdir", folder, path], check=True, timeout=180, capture_output=True
    )
    return path.with_suffix(".fods").read_text(encoding="utf-8")
