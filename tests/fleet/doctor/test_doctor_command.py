"""manage.py doctor: lines, JSON, its ending, and the database away."""

import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import call_command

from shared import clock
from tests.fleet.doctor import outages
from tests.fleet.doctor.service_yard import AT

ROOT = Path(__file__).resolve().parents[3]


def asked(*options):
    """Return what the command prints, and how it ends."""
    out = io.StringIO()
    try:
        call_command("doctor", *options, stdout=out)
    except SystemExit as ending:
        return out.getvalue(), ending.code
    return out.getvalue(), 0


@pytest.fixture
def at_noon(yard, monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: AT)
    return yard


def test_nothing_calls_when_all_is_in_order(at_noon):
    said, ending = asked()

    assert said.splitlines()[-1] == "Nothing calls for you."
    assert ending == 0
    assert asked("--quiet") == ("\n", 0)


def test_trouble_stands_first_with_what_to_do_and_ends_with_1(at_noon, monkeypatch, settings):
    outages.photo_is_gone(at_noon, monkeypatch, settings)

    said, ending = asked()

    assert " ".join(said.splitlines()[0].split()) == (
        "TROUBLE photos 1 of the newest photos lacks its file. (harbour) To do: Put the media "
        "folder back from the backup; verify_history names every one."
    )
    assert [line.split()[0] for line in said.splitlines()].count("TROUBLE") == 1
    assert ending == 1


def test_as_json_for_programs(at_noon, monkeypatch, settings):
    outages.no_sweep(at_noon, monkeypatch, settings)

    said, ending = asked("--json", "--quiet")

    assert [(sign["code"], sign["is_trouble"]) for sign in json.loads(said)] == [("sweep", True)]
    assert ending == 1


def test_the_database_away_is_said_with_no_traceback(tmp_path):
    environ = {name: value for name, value in os.environ.items() if "DJANGO" not in name}
    environ |= {
        "FLEET_VAR": str(tmp_path),
        "FLEET_DATABASE": f"postgresql://fleet:sesame@/fleet?host={tmp_path}",
    }
    command = [sys.executable, "manage.py", "doctor", "--quiet", "--json"]

    done = subprocess.run(
        command, cwd=ROOT, env=environ, capture_output=True, text=True, timeout=60
    )

    assert [sign["code"] for sign in json.loads(done.stdout)] == ["database"]
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    assert "sesame" not in done.stdout + done.stderr
