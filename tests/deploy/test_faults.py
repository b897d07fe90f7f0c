"""What the faults share: the list, the words, the draw. The faults themselves are run apart."""

import io
import os
import random
import subprocess
import sys

import pytest
from django.core.management import CommandError, call_command

from deploy.faults import apart, releases
from deploy.faults.breaking import Breaking
from deploy.faults.kept import Kept
from deploy.faults.listed import all_faults
from deploy.faults.telling import NotTried, Tally
from deploy.faults.weighing import Weighing
from deploy.settings import ROOT

CODES = (1, 2, 3, 4, 5, 6, 7, 8, 10, 11, 12, 13, 14, 18, 19, 20, 21, 22, 23, 24, 26)


def test_every_fault_is_there():
    wanted = [f"F{number}" for number in CODES]

    there = list(all_faults())

    assert there == wanted, f"not there yet: {sorted(set(wanted) - set(there))}"


def test_each_fault_has_a_word_of_its_own_and_is_made_more_often_in_the_long_run():
    faults = all_faults().values()

    assert len({one.name for one in faults}) == len(faults)
    assert [one.code for one in faults if not 0 < one.short <= one.long] == []


def test_list_names_each_fault_and_runs_none():
    told = io.StringIO()

    call_command("faults", "--list", stdout=told)

    assert [line.split()[0] for line in told.getvalue().splitlines()] == list(all_faults())


def test_unknown_code_is_refused_with_those_there_are():
    with pytest.raises(CommandError, match=r"^there is no fault F99; there are F\d+"):
        call_command("faults", "--only", "F99")


def test_a_figure_that_is_as_wanted_is_said_and_passes():
    tally = Tally("TRIAL")

    tally.say(kills=3)
    tally.exactly(lost=(0, 0))
    tally.at_most(late_s=(120, 120))

    assert (tally.passed, tally.line()) == (True, "TRIAL kills=3 lost=0 late_s=120")


def test_without_git_history_f24_is_not_tried_unless_a_release_was_asked_for(tmp_path, monkeypatch):
    monkeypatch.setattr(releases, "ROOT", tmp_path)

    with pytest.raises(NotTried, match="no git history"):
        releases.before_this("")
    with pytest.raises(subprocess.CalledProcessError):
        releases.before_this("HEAD")


def test_what_was_not_tried_says_what_it_lacks():
    assert Tally("TRIAL", lacking="no such server").line() == "TRIAL not tried: no such server"


def test_each_figure_that_is_not_is_named():
    tally = Tally("TRIAL")

    tally.exactly(lost=(1, 0))
    tally.at_most(late_s=(121, 120))
    tally.want(False, "the chain is broken")

    assert not tally.passed
    assert tally.line().splitlines() == [
        "TRIAL lost=1 late_s=121",
        "  wrong: lost is 1, not 0",
        "  wrong: late_s is 121, more than 120",
        "  wrong: the chain is broken",
    ]


class Going:
    """A run that ends after so many looks; those that go at the same time are counted."""

    now = most = closed = 0

    def __init__(self, looks, passed=True):
        self.looks, self.passed = looks, lambda: passed

    def start(self):
        Going.now += 1
        Going.most = max(Going.most, Going.now)

    def has_ended(self):
        self.looks -= 1
        return self.looks < 0

    def said(self):
        return "a line"

    def close(self):
        Going.now -= 1
        Going.closed += 1


@pytest.fixture(autouse=True)
def none_going(monkeypatch):
    monkeypatch.setattr(apart, "LOOK_EVERY_S", 0)
    for name in ("now", "most", "closed"):
        monkeypatch.setattr(Going, name, 0)


@pytest.mark.parametrize("at_once", [1, 2, 3])
def test_so_many_run_at_once_and_all_are_told(at_once):
    told = []
    runs = [Going(4), Going(0, passed=False), Going(3, passed=None), Going(1)]

    results = apart.run_all(runs, at_once, told.append)

    assert sorted(results, key=repr) == [False, None, True, True]
    assert (len(told), Going.most, Going.closed) == (4, at_once, 4)


def test_stopped_in_the_middle_those_that_run_are_closed():
    def stop(line):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        apart.run_all([Going(9), Going(0), Going(1)], 2, stop)

    assert (Going.now, Going.closed) == (0, 2)


class Nowhere:
    """A world in which nothing is there to be broken; it only has the draw."""

    def __init__(self, seed):
        self.random = random.Random(seed)


def drawn(seed):
    breaking = Breaking(Nowhere(seed), Kept(Nowhere(seed)))
    ways = [way.__name__ for way in breaking.ways]
    told = []
    breaking.ways = [lambda name=name: told.append(name) for name in ways]
    for _ in range(30):
        breaking.one()
    return told


def test_the_same_seed_draws_the_same_faults():
    assert drawn(1) == drawn(1)
    assert drawn(1) != drawn(2)
    assert len(set(drawn(1))) == 9


class Ended:
    """A program whose process runs, or does not."""

    name = "sweep"

    def __init__(self, has_ended):
        self.ended, self.starts = has_ended, 0

    def has_ended(self):
        return self.ended

    def finish(self, deadline_s):
        self.ended = True

    def start(self):
        self.ended, self.starts = False, self.starts + 1


def test_what_ended_is_started_again():
    kept = Kept(Nowhere(1))
    kept.programs = [Ended(False), Ended(True)]

    kept.look_after()
    kept.look_after()

    assert [program.starts for program in kept.programs] == [0, 1]
    assert kept.begun_again == 1


def test_growth_is_from_the_second_quarter_to_the_last():
    weighing = Weighing([])

    grown = weighing.growth_percent({"web server": [10, 100, 100, 111], "worker": [7, 50, 50, 50]})

    assert grown == 11
    assert weighing.growth_percent({"beat": [7, 7, 7, 9]}) == 0
    assert weighing.growth_percent({"beat": [7, 7, 7, 10]}) == 43


def test_one_process_alone_ends_at_a_point_after_as_many_passes(tmp_path):
    """Twelve processes pass it 20 times each; the count goes down by one at each pass."""
    (tmp_path / "kill-at-trial").write_text("100")
    script = "from shared.trials import kill_point\nfor _ in range(20): kill_point('trial')"
    environ = os.environ | {"FLEET_TRIALS": str(tmp_path)}

    racing = [
        subprocess.Popen([sys.executable, "-c", script], cwd=ROOT, env=environ) for _ in range(12)
    ]
    codes = [process.wait() for process in racing]

    assert (codes.count(-9), codes.count(0)) == (1, 11)
    assert not (tmp_path / "kill-at-trial").exists()
