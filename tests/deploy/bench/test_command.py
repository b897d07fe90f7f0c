"""What the command makes of its lines: told, written down, and counted where they miss."""

import contextlib
import json
import logging
from types import SimpleNamespace
from unittest import mock

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from deploy.bench import world
from deploy.bench.listed import Group
from deploy.bench.pairs import Figure


def rows(count, at_most=3):
    return Figure("rows-written", "rows written", at_most, lambda: count, "rows")


def broken(made):
    yield rows(1)
    raise RuntimeError("the line is at fault")


@pytest.fixture
def run(tmp_path):
    """Run the command with these groups, on no server; return (figures, what it ended with)."""

    def run_with(groups):
        made = SimpleNamespace(scales=["10k"], at=lambda scale: contextlib.nullcontext())
        found = {name: Group(name, make, is_growth=False) for name, make in groups.items()}
        with (
            mock.patch.object(world, "made", lambda *given: contextlib.nullcontext(made)),
            mock.patch("deploy.management.commands.bench.all_groups", lambda: found),
        ):
            try:
                call_command("bench", json=str(tmp_path / "figures"))
                ended = ""
            except CommandError as fault:
                ended = str(fault)
        return json.loads((tmp_path / "figures").read_text()), ended

    yield run_with
    logging.disable(logging.NOTSET)


def test_a_line_over_its_limit_is_named_at_the_end(run):
    figures, ended = run({"few": lambda made: [rows(2)], "many": lambda made: [rows(4)]})
    assert [one["is_met"] for one in figures] == [True, False]
    assert ended == "over the limit: rows-written at 10k"


def test_lines_that_break_cost_no_others(run, capsys):
    figures, ended = run({"bad": broken, "good": lambda made: [rows(2)]})
    assert [one["ratio"] for one in figures] == [1, 2]
    assert ended == "not measured: bad at 10k"
    assert "the line is at fault" in capsys.readouterr().err
