"""check.py by every Python from 3.9 on that this machine has: alone, and without a network."""

import os
import re
import shutil
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from fleet.checkers import check
from tests.fleet.checkers.building import a_story, draft_of, zipped

CHECKER = Path(check.__file__)
OLDEST = (3, 9)
# -I: nothing of the caller's; -S: no installed packages
ALONE = ["-I", "-S"]
ASKED_VERSION = "import sys; print(*sys.version_info[:2])"
# where a namespace without network is not allowed, sockets are refused instead
REFUSE = """
import runpy, sys
sys.argv = sys.argv[1:]
sys.addaudithook(lambda event, _args: event.startswith("socket.") and sys.exit("socket"))
"""
REFUSE_SOCKETS = f'{REFUSE}runpy.run_path(sys.argv[0], run_name="__main__")'


def candidates():
    """Yield the Pythons on the PATH, and those that pyenv keeps."""
    for folder in os.environ.get("PATH", "").split(os.pathsep):
        yield from Path(folder).glob("python3*")
    yield from Path.home().glob(".pyenv/versions/*/bin/python3")
    yield Path(sys.executable)


@cache
def pythons():
    """Return one Python of each version from 3.9 on."""
    found = {}
    for path in candidates():
        if re.fullmatch(r"python3(\.\d+)?", path.name) is None and path != Path(sys.executable):
            continue
        done = subprocess.run(
            [path, *ALONE, "-c", ASKED_VERSION], capture_output=True, text=True, check=False
        )
        version = tuple(int(part) for part in done.stdout.split())
        if done.returncode == 0 and version >= OLDEST:
            found.setdefault(version, path)
    return dict(sorted(found.items()))


@cache
def offline():
    """Return the words that put a command where there is no network, none where that is refused."""
    words = ["unshare", "--net", "--map-root-user"]
    if shutil.which("unshare") is None:
        return []
    done = subprocess.run([*words, "true"], capture_output=True, check=False)
    return words if done.returncode == 0 else []


def run(python, *words):
    start = (
        [python, *ALONE, CHECKER] if offline() else [python, *ALONE, "-c", REFUSE_SOCKETS, CHECKER]
    )
    return subprocess.run(
        [*offline(), *start, *words], capture_output=True, text=True, check=False, timeout=120
    )


@pytest.fixture(scope="module")
def bundle(tmp_path_factory):
    path = tmp_path_factory.mktemp("bundle") / "bundle.zip"
    path.write_bytes(zipped(draft_of(a_story()).sealed()))
    return path


@pytest.mark.parametrize("version", pythons(), ids=lambda version: ".".join(map(str, version)))
def test_every_python_says_the_same(version, bundle, tmp_path):
    spoilt = tmp_path / "spoilt.zip"
    spoilt.write_bytes(bundle.read_bytes().replace(b"position", b"Position", 1))
    python, ours = pythons()[version], sys.executable

    whole, damaged = run(python, bundle, "--sample", "42"), run(python, spoilt)

    assert (whole.returncode, whole.stdout) == (0, run(ours, bundle, "--sample", "42").stdout)
    assert whole.stdout.endswith("nothing failed\n")
    assert (damaged.returncode, damaged.stderr) == (1, "")
    assert re.search(r"^\d+ checks? failed: ", damaged.stdout, re.M)


def test_the_python_that_runs_the_tests_is_among_them():
    assert sys.version_info[:2] in pythons()


def test_there_really_is_no_network():
    """The same wrapping ends a command that asks for one."""
    ask = "import socket; socket.create_connection(('127.0.0.1', 9), 1)"
    done = subprocess.run(
        [*offline(), sys.executable, "-c", ask if offline() else REFUSE + ask],
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 1
    assert "unreachable" in done.stderr or "socket" in done.stderr


def test_it_imports_the_standard_library_alone():
    names = re.findall(r"^\s*(?:from|import) (\w+)", CHECKER.read_text(), re.M)

    assert set(names) <= sys.stdlib_module_names
    assert "socket" not in names and "urllib" not in names
