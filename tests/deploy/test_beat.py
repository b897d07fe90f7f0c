"""Beat when somebody sets the clock."""

from datetime import timedelta

import pytest
import time_machine
from celery import Celery
from celery.beat import Scheduler

from deploy.beat import SteadyScheduler
from deploy.celery import app as real_app
from tests.factories import MORNING


class Rings:
    rung = ()

    def apply_async(self, entry, **how):
        self.rung += (entry.name,)


class Steady(Rings, SteadyScheduler):
    pass


class Plain(Rings, Scheduler):
    pass


@pytest.fixture
def app():
    app = Celery("trial", broker="memory://", set_as_current=False)
    app.conf.beat_schedule = {"sweep": {"task": "fleet.sweep", "schedule": 60.0}}
    app.conf.beat_max_loop_interval = 30
    return app


def rung_after(kind, app, steps):
    """Return how often it rang when the clock reads these times in turn, the steady one still."""
    with time_machine.travel(MORNING, tick=False) as clock:
        beat = kind(app)
        for step in steps:
            clock.move_to(MORNING + step)
            beat.tick()
        return len(beat.rung)


def test_it_rings_each_minute(app, monkeypatch):
    monkeypatch.setattr("deploy.beat.LEAST_STEP_S", 10**9)
    steps = [timedelta(seconds=30 * times) for times in range(5)]

    assert rung_after(Steady, app, steps) == 2


@pytest.mark.parametrize("hours", [-24 * 365, -24, -1, 1, 24 * 365])
def test_it_rings_at_once_when_the_clock_was_set(app, hours):
    steps = [timedelta(), timedelta(hours=hours)]

    assert rung_after(Steady, app, steps) == 1


def test_celerys_own_stalls_when_the_clock_was_set_back(app):
    steps = [timedelta(), timedelta(hours=-1), timedelta(minutes=-1)]

    assert rung_after(Plain, app, steps) == 0


def test_it_is_the_one_that_beat_runs():
    assert real_app.conf.beat_scheduler == "deploy.beat:SteadyScheduler"
