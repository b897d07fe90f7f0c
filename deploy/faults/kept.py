"""What systemd does for the tool's programs: whatever ended is started again."""

import time
from collections.abc import Callable

from deploy.faults.world import World, kill, wait_until

PATIENCE_S = 60


class Kept:
    """Programs of one run that are looked after while it waits for something."""

    def __init__(self, world: World):
        self.world = world
        self.programs: list = []
        self.begun_again = 0

    def start(self, name: str, *words: str, **environ: str):
        program = self.world.start(name, *words, **environ)
        self.programs.append(program)
        return program

    def look_after(self) -> None:
        for program in self.programs:
            if program.has_ended():
                self.start_again(program)

    def start_again(self, program) -> None:
        """End what is left of a program's group, and start it anew."""
        kill(program)
        program.start()
        self.begun_again += 1

    def wait_until(self, is_so: Callable, what: str, within_s: float = PATIENCE_S) -> float:
        def is_so_by_now():
            self.look_after()
            return is_so()

        return wait_until(is_so_by_now, what, within_s)

    def wait(self, seconds: float) -> None:
        until_s = time.monotonic() + seconds
        while time.monotonic() < until_s:
            self.look_after()
            time.sleep(min(0.1, max(0, until_s - time.monotonic())))
