"""Units and the nginx site fit the tool: their commands are there, their limits are Django's."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import get_commands

from deploy.settings import ROOT
from fleet.sheet_grid import READING_LIMITS
from shared import papers, photos

UNITS = sorted((ROOT / "deploy" / "systemd").glob("*.*"))
SERVICES = [path for path in UNITS if path.suffix == ".service"]
SITE = (ROOT / "deploy" / "nginx" / "fleet.conf").read_text()
MIB = 1024 * 1024


def named(path):
    return [one.name for one in path]


@pytest.mark.parametrize("unit", SERVICES, ids=named(SERVICES))
def test_a_unit_names_a_command_that_there_is(unit):
    run = re.findall(
        r"^Exec\w+=/opt/fleet/\.venv/bin/(\S+) (\S+)(?: (\S+))?", unit.read_text(), re.M
    )

    assert run
    for program, first, second in run:
        if program == "python":
            assert first == "manage.py"
            assert second in get_commands()
        else:
            assert Path(sys.executable).with_name(program).exists(), program
            assert first in ("deploy.wsgi", "--quiet")


def test_what_runs_on_is_checked_before_it_starts():
    run_on = [path.read_text() for path in SERVICES if "oneshot" not in path.read_text()]
    checks = [re.findall(r"^ExecStartPre=\S+ manage\.py (check .*)", text, re.M) for text in run_on]
    container = (ROOT / "deploy/container/checked").read_text()

    assert len(run_on) == 4
    assert {tuple(found) for found in checks} == {(checks[0][0],)}
    assert checks[0][0] in container


def test_the_target_wants_every_service_and_timer():
    wanted = re.findall(r"fleet-\w+\.\w+", (ROOT / "deploy/systemd/fleet.target").read_text())
    by_timer = {path.name for path in UNITS if path.with_suffix(".timer").exists()}
    there = {path.name for path in UNITS if path.suffix in (".service", ".timer")}

    assert set(wanted) == there - {name for name in by_timer if name.endswith(".service")}


@pytest.mark.skipif(not shutil.which("systemd-analyze"), reason="no systemd here")
@pytest.mark.parametrize("unit", SERVICES, ids=named(SERVICES))
def test_systemd_reads_a_unit_and_calls_it_well_shut(unit):
    where = {"cwd": unit.parent, "capture_output": True, "text": True}
    read = subprocess.run(["systemd-analyze", "verify", f"./{unit.name}"], **where)
    shut = subprocess.run(
        ["systemd-analyze", "security", "--offline=yes", "--threshold=20", f"./{unit.name}"],
        **where,
    )

    faults = [line for line in read.stderr.splitlines() if "is not executable" not in line]
    assert [line for line in faults if "fleet" in line] == []
    # 2.0 of 10 at most; a service as Debian's packages have it is at 9
    assert shut.returncode == 0, shut.stdout[-200:]


def test_nginx_takes_in_as_much_as_django_and_no_more():
    most = settings.DATA_UPLOAD_MAX_NUMBER_FILES * photos.LARGEST_BYTES
    most += settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    sizes = [int(size) for size in re.findall(r"client_max_body_size (\d+)m;", SITE)]

    assert sizes[0] == -(-most // MIB)
    assert set(sizes[1:]) == {-(-settings.DATA_UPLOAD_MAX_MEMORY_SIZE // MIB)}
    assert max(papers.LARGEST_BYTES, READING_LIMITS.file_bytes) < sizes[0] * MIB


def test_nginx_measures_no_body_before_the_page_that_says_it_is_too_large():
    pages = SITE[SITE.index("location ~ ^/(too-large|") :]

    assert "client_max_body_size 0;" in pages[: pages.index("}")]


def test_prometheus_asks_where_nginx_answers_to_this_machine_alone():
    server = SITE[SITE.index("listen 127.") :]
    readme = (ROOT / "README.md").read_text()

    (listens,) = re.findall(r"listen (\S+);", server)

    assert re.findall(r'targets: \["(.+?)"\]', readme) == [listens]
    assert re.findall(r"location = /(\S+) ", server) == ["health/", "metrics/"]
    # plain http: no redirect to https comes in between
    assert settings.SECURE_REDIRECT_EXEMPT == ["^health/$", "^metrics/$"]


def masked(path):
    """Return what nginx's map writes into the log for this address."""
    rules = re.search(r"map \$request_uri \$fleet_uri \{(.*?)\}", SITE, re.S)[1]
    for pattern, written in re.findall(r"~(\S+)\s+(\S+);", rules):
        if found := re.search(pattern, path):
            return found[1] if written == "$1" else written


@pytest.mark.parametrize("kind", ["s", "password", "calendar"])
def test_no_address_that_lets_its_holder_in_is_logged(kind):
    assert masked(f"/{kind}/MQ/secret/?a=b") == f"/{kind}/-"


def test_other_addresses_are_logged_without_what_was_asked():
    assert masked("/brindlewick/board/?q=name") == "/brindlewick/board/"


def test_each_page_of_nginx_is_there():
    pages = set(re.findall(r"/([a-z-]+)\.html;", SITE))

    assert pages == {path.stem for path in (ROOT / "deploy/nginx/pages").glob("*.html")}
