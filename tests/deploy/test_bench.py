"""The benchmark: ratios of two sides in one run, in a database that is gone afterwards."""

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from deploy.bench.pairs import Pair, measured

ROOT = Path(__file__).resolve().parents[2]


def slept(seconds):
    return lambda: time.sleep(seconds)


def test_measured_gives_the_ratio_of_ours_to_the_limit():
    found = measured(Pair("naps", "a nap", 2, slept(0.01), slept(0.03)), rounds=3)

    assert found.least <= found.ratio <= found.most
    assert 1.5 < found.ratio < 6
    assert found.ours_ms > found.limit_ms > 9


@pytest.mark.parametrize(("ours_s", "is_met"), [(0.002, True), (0.06, False)])
def test_line_is_met_by_its_median(ours_s, is_met):
    found = measured(Pair("naps", "a nap", 2, slept(0.01), slept(ours_s)), rounds=3)

    assert found.is_met is is_met


def bench(tmp_path, *more):
    # the suite's own settings name the suite's database
    own = {"FLEET_VAR": str(tmp_path), "DJANGO_SETTINGS_MODULE": "deploy.settings"}
    environ = os.environ | own | {"FLEET_DATABASE": ""}
    command = [sys.executable, "manage.py", "bench", *more]
    return subprocess.run(command, cwd=ROOT, env=environ, capture_output=True, text=True)


def test_command_measures_in_a_database_of_its_own(tmp_path):
    to = tmp_path / "figures.json"

    ran = bench(tmp_path, "--only", "verify-bytes", "--json", str(to))

    lines = ran.stdout.splitlines()
    assert [line.split()[0] for line in lines] == ["line", "verify-bytes"], ran.stderr
    assert [figure["name"] for figure in json.loads(to.read_text())] == ["verify-bytes"]
    assert not (tmp_path / "fleet.sqlite3").exists()
