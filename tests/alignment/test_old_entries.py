"""Entries of before passes were asked prove, close and print what they always did.

The figures in old_entries.json were written by the code of those days.
"""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from alignment.bundle import rows_of
from alignment.judging import judge_stage
from alignment.models import CamberReading, ToeReading
from alignment.parts import CamberToePart
from alignment.sheets import judged, sheet_of
from tests.alignment_factories import SheetFactory, placed

ENTRIES = json.loads(Path(__file__).with_name("old_entries.json").read_text())
MODELS = {"camber": CamberReading, "toe": ToeReading}
PART = CamberToePart()


def told(entry):
    """Return all that is told of an entry, as it stands in a file."""
    fact = SheetFactory.build(**_numbers(entry["fields"]))
    lines = placed(*(_line(**fields) for fields in entry["lines"]))
    sheet = sheet_of(fact, lines)
    return json.loads(
        json.dumps(
            {
                "last": _results(judged(fact, lines)),
                "found": _results(judge_stage(sheet, "found")),
                "left": _results(judge_stage(sheet, "left")),
                "outcome": _outcome(PART.outcome(fact, lines)),
                "verdicts": PART.verdicts(fact, lines),
                "rows": [
                    f"{row['item']}|{row['found']}|{row['detail']}"
                    for row in rows_of(fact, lines, PART.code)
                ],
            }
        )
    )


def _line(line, **fields):
    return MODELS[line](**_numbers(fields))


def _numbers(fields):
    units = ("_mm", "_deg")
    return {
        name: Decimal(said) if said and name.endswith(units) else said
        for name, said in fields.items()
    }


def _results(found):
    results = {
        name: [f"{one.value:.9f}", f"{one.expanded:.9f}", one.verdict]
        for name, one in found.results.items()
    }
    return {"results": results, "missing": found.missing}


def _outcome(outcome):
    return {
        "pieces": sorted(outcome.pieces),
        "holds": [[hold.piece, hold.reason] for hold in outcome.holds],
        "starts": [start.event for start in outcome.starts],
        "tag": outcome.tag,
        "is_critical": outcome.is_critical,
    }


@pytest.mark.parametrize("entry", ENTRIES, ids=range(len(ENTRIES)))
def test_an_old_entry_tells_what_it_always_told(entry):
    assert told(entry) == entry["told"]
