"""The bundle by command: two moments, a scope, a file."""

from datetime import date, timedelta

import pytest
from django.core.management import CommandError, call_command

from fleet.actions import bundles
from tests.fleet.bundling import Fleet, Read, bundled, on

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    return Fleet("harbour")


def test_command_writes_the_bundle_of_two_days(fleet, tmp_path, capsys):
    fleet.tell_everything()
    to = tmp_path / "march.zip"
    days = {"happened_by": "2026-03-10", "known_by": "2026-03-10"}

    call_command("audit_bundle", site="harbour", out=str(to), **days)

    first, second = capsys.readouterr().out.splitlines()
    end = on(3, 10, 23, 59) + timedelta(seconds=59.999999)
    asked = bundled(fleet.site, tmp_path, end)
    made = Read(to)
    assert first.split()[1] == str(to) and len(first.split()[0]) == 64
    assert second.endswith(made.manifest["content"])
    assert made.tables == asked.tables
    assert made.manifest["content"] == asked.manifest["content"]
    assert made.manifest["made_by"] == "the command audit_bundle"
    assert "report/report.pdf" in made.members


def test_command_takes_moments_and_a_scope(fleet, tmp_path):
    fleet.tell_everything()
    to = tmp_path / "march.zip"
    asked = {
        "happened_by": "2026-03-10T14:05-04:00",
        "known_by": "2026-03-11",
        "from_day": "2026-03-04",
        "lifted_only": True,
        "with_names": True,
    }

    call_command("audit_bundle", site="harbour", out=str(to), **asked)

    said = Read(to).manifest
    assert said["happened_by"] == "2026-03-10T18:05:00.000000+00:00"
    assert said["known_by"] == "2026-03-12T03:59:59.999999+00:00"
    assert said["from_day"] == date(2026, 3, 4).isoformat()
    assert (said["lifted_only"], said["with_names"]) == (True, True)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"site": "nowhere"}, "There is no site nowhere."),
        ({"known_by": "03/10/2026"}, "--known-by: 03/10/2026 is neither a day like 2026-03-31"),
        ({"happened_by": "2099-01-01"}, "--happened-by: 2099-01-01 is not over yet"),
        ({"from_day": "10 March"}, "--from must be a day like 2026-03-31, not 10 March"),
        ({"from_day": "2026-03-11", "happened_by": "2026-03-10"}, "--from is after --happened-by"),
        ({"out": "/nowhere/at/all.zip"}, "/nowhere/at/all.zip: No such file or directory"),
    ],
)
def test_command_says_what_is_wrong_in_a_line(fleet, tmp_path, changed, words):
    asked = {"site": "harbour", "out": str(tmp_path / "a.zip"), **changed}

    with pytest.raises(CommandError, match=words):
        call_command("audit_bundle", **asked)

    assert list(tmp_path.glob("*.zip")) == []


def test_command_says_why_nothing_can_be_signed(fleet, tmp_path, settings):
    settings.KEYS.mkdir(exist_ok=True)
    settings.KEYS.chmod(0o755)

    with pytest.raises(CommandError, match="run chmod 700"):
        call_command("audit_bundle", site="harbour", out=str(tmp_path / "a.zip"))

    assert bundles.Bundle.objects.count() == 0
