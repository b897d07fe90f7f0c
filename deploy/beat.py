"""Celery's beat, but one that a clock set back does not stall."""

from celery.beat import Scheduler

from shared import clock

# a step below this delays one ring by no more
LEAST_STEP_S = 30


class SteadyScheduler(Scheduler):
    """Rings again at once when the clock was set, and then as ever.

    Celery's own waits until a clock that was set back has caught up. Nothing is kept in a file:
    a last time in it would lie in the future, and a beat that is started again would wait too.
    """

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.watch = clock.Watch(LEAST_STEP_S)

    def tick(self, *args, **kwargs):
        if self.watch.step_s(clock.now()):
            self._begin_anew()
        return super().tick(*args, **kwargs)

    def _begin_anew(self):
        for entry in self.schedule.values():
            entry.last_run_at = entry.default_now() - entry.schedule.run_every
        self._heap = None
