import runpy
import shutil
import signal
import socket
import sqlite3
import subprocess
import sys
import time
from collections import namedtuple
from contextlib import closing
from pathlib import Path

import ground
import installing
import keeper
import network
import pytest
from fault import CannotStart

Usage = namedtuple("Usage", "free")


def child(code, tmp_path):
    return keeper.Child("trial", [sys.executable, "-c", code], tmp_path, {})


def test_check_port_names_a_port_that_is_taken():
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]

        with pytest.raises(CannotStart, match=f"^port {port} is taken; choose another"):
            ground.check_port("127.0.0.1", port)

    ground.check_port("127.0.0.1", port)


def test_check_disk_says_how_much_is_free_and_needed(tmp_path, monkeypatch):
    monkeypatch.setattr(shutil, "disk_usage", lambda path: Usage(free=499_999_999))

    with pytest.raises(CannotStart, match=r"^499 MB are free at .*, and 500 MB are needed$"):
        ground.check_disk(tmp_path, 500)

    ground.check_disk(tmp_path, 499)


def test_only_one_refuses_the_second_until_the_first_is_gone(tmp_path):
    lock = tmp_path / "start.lock"

    with (
        ground.only_one(lock),
        pytest.raises(CannotStart, match=r"^it is running already, as process [0-9]+$"),
        ground.only_one(lock),
    ):
        pass

    with ground.only_one(lock):
        pass


@pytest.mark.parametrize(
    ("printed", "line"),
    [
        ("WARNING: NewConnectionError(...)\nERROR: no match", "no network"),
        ("ERROR: [Errno 28] No space left on device", "the disk became full"),
        ("some\nERROR: hash differs\n\n", "the Python packages could not .*: ERROR: hash differs"),
    ],
)
def test_fault_of_says_what_stopped_the_install(printed, line):
    with pytest.raises(CannotStart, match=f"^{line}"):
        raise CannotStart(installing.fault_of(printed))


def test_environment_installs_again_only_when_the_file_changed(tmp_path, monkeypatch):
    installs = []
    monkeypatch.setattr(installing, "works", lambda python: True)
    monkeypatch.setattr(installing, "install", lambda python, file: installs.append(file.name))
    requirements, folder = tmp_path / "requirements.txt", tmp_path / ".venv"
    folder.mkdir()

    for text in ("a==1", "a==1", "a==2"):
        requirements.write_text(text)
        installing.environment(folder, requirements)

    assert installs == ["requirements.txt", "requirements.txt"]


def test_fingerprint_sees_a_change_in_an_included_file(tmp_path):
    (tmp_path / "a.txt").write_text("a==1")
    (tmp_path / "b.txt").write_text("-r a.txt\nb==1")
    before = installing.fingerprint(tmp_path / "b.txt")

    (tmp_path / "a.txt").write_text("a==2")

    assert installing.fingerprint(tmp_path / "b.txt") != before


def test_network_environment_lets_a_phone_in(monkeypatch):
    monkeypatch.setattr(network, "outward_address", lambda: "10.0.0.7")

    found = network.environment("0.0.0.0", 8000, {"FLEET_HOSTS": "mine"})

    assert found["FLEET_URL"] == "http://10.0.0.7:8000"
    assert {"mine", "10.0.0.7", socket.gethostname()} <= set(found["FLEET_HOSTS"].split())


def test_network_environment_keeps_the_address_that_was_given():
    found = network.environment("::1", 8000, {"FLEET_URL": "https://fleet.example.org"})

    assert found == {"FLEET_URL": "https://fleet.example.org", "FLEET_HOSTS": "[::1]"}


def test_a_child_that_keeps_dying_is_given_up(tmp_path):
    dying = child("raise SystemExit(3)", tmp_path)
    dying.start()

    with pytest.raises(keeper.GaveUp, match=r"^the trial ended 5 times within a minute$"):
        while True:
            dying.process.wait()
            dying.start_again(at_s=100.0)


def test_a_child_that_dies_now_and_then_is_started_again(tmp_path):
    dying = child("raise SystemExit(3)", tmp_path)
    dying.start()

    for at_s in (0.0, 61.0, 122.0, 183.0, 244.0, 305.0):
        dying.process.wait()
        dying.start_again(at_s)

    assert dying.process.wait() == 3


def test_finish_kills_what_does_not_stop_with_its_own_children(tmp_path):
    deaf = "import signal, time; signal.signal(signal.SIGTERM, signal.SIG_IGN)\n"
    deaf += "print('deaf', flush=True); time.sleep(600)"
    command = ["sh", "-c", '"$0" -c "$1" & wait', sys.executable, deaf]
    stubborn = keeper.Child("trial", command, tmp_path, {})
    stubborn.start()
    group = stubborn.process.pid
    time.sleep(0.5)

    stubborn.finish(deadline_s=time.monotonic())

    left = subprocess.run(["pgrep", "-g", str(group), "-r", "S,R"], capture_output=True, text=True)
    assert left.stdout == ""


def test_migrate_alone_brings_the_database_up_to_date_and_ends(tmp_path, monkeypatch):
    monkeypatch.setenv("FLEET_VAR", str(tmp_path))
    # the suite's own settings name the suite's database
    monkeypatch.delenv("DJANGO_SETTINGS_MODULE")
    monkeypatch.setattr(installing, "environment", lambda *where: sys.executable)
    monkeypatch.setattr(keeper, "keep", pytest.fail)
    monkeypatch.setattr(signal, "signal", lambda number, handler: None)
    monkeypatch.setattr(sys, "argv", ["start", "--migrate", "--port", str(free_port())])

    runpy.run_path(str(Path(ground.__file__).parent), run_name="__main__")

    with closing(sqlite3.connect(tmp_path / "fleet.sqlite3")) as made:
        laid = made.execute("SELECT count(*) FROM sqlite_master WHERE type = 'trigger'")
        assert laid.fetchone()[0] > 0
        assert made.execute("SELECT count(*) FROM shared_person").fetchone() == (0,)


def free_port():
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return trial.getsockname()[1]
