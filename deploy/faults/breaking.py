"""Ways to break a running tool for a moment, each put right again by itself."""

import random
import time
from collections.abc import Callable

import redis as redis_client
from django.db import connection

from deploy.faults import sink
from deploy.faults.kept import Kept
from deploy.faults.world import World, kill
from fleet.tasks import sweep

MAIL_POINTS = (
    "after-claim",
    "after-connect",
    "after-rcpt",
    "before-250",
    "after-250",
    "after-settle",
)
TICK_POINTS = ("before-tick-commit", "after-tick-commit")
WEB_POINTS = (
    "before-lock",
    "after-key-check",
    "after-update",
    "after-entry",
    "before-commit",
    "after-commit",
)
MAIL_MODES = (sink.DOWN, sink.GREYLIST, sink.SLOW, sink.DRIP, sink.CLOSE)
MOMENT_S = 3
TIMES = 3


class Breaking:
    """Breaks one thing after another, drawn by the seed, and counts."""

    def __init__(self, world: World, kept: Kept):
        self.world, self.kept = world, kept
        self.draw: random.Random = world.random
        self.done = 0
        self.ways: list[Callable[[], None]] = [
            self.kill_at_a_point,
            self.kill_beat,
            self.flush_broker,
            self.lose_broker,
            self.freeze_broker,
            self.crash_database,
            self.cut_connections,
            self.ring_three_times,
            self.spoil_mail,
        ]

    def one(self) -> None:
        self.draw.choice(self.ways)()
        self.done += 1

    def pause(self) -> None:
        self.kept.wait(self.draw.random() * MOMENT_S)

    def kill_at_a_point(self) -> None:
        """Armed, it ends whoever comes there next, soon or during a later fault."""
        self.world.arm(self.draw.choice(MAIL_POINTS + TICK_POINTS + WEB_POINTS))

    def disarm(self) -> None:
        for armed in (self.world.place.base / "trials").glob("kill-at-*"):
            armed.unlink(missing_ok=True)

    def kill_beat(self) -> None:
        kill(next(program for program in self.kept.programs if program.name == "beat"))

    def flush_broker(self) -> None:
        redis_client.Redis(port=self.world.redis.port).flushall()

    def lose_broker(self) -> None:
        self.world.redis.kill()
        self.pause()
        self.world.redis.start()

    def freeze_broker(self) -> None:
        self.world.redis.freeze()
        self.pause()
        self.world.redis.thaw()

    def crash_database(self) -> None:
        connection.close()
        self.world.postgresql.kill()
        time.sleep(self.draw.random())
        self.world.postgresql.start()

    def cut_connections(self) -> None:
        """End every connection to the database but this one's."""
        others = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
        others += " WHERE pid <> pg_backend_pid() AND backend_type = 'client backend'"
        with connection.cursor() as cursor:
            cursor.execute(others)

    def ring_three_times(self) -> None:
        for _ in range(TIMES):
            sweep.apply_async(task_id=f"the-same-{self.done}")

    def spoil_mail(self) -> None:
        self.world.sink.behave(self.draw.choice(MAIL_MODES))
        self.pause()
        self.world.sink.behave(sink.OK)
