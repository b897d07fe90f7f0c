"""How much memory and how many file handles a program's processes hold, over time."""

import contextlib
import os
from pathlib import Path
from statistics import median

from servers import children_of

# of seven handles one more is no leak
FEW = 2
PAGE_BYTES = os.sysconf("SC_PAGE_SIZE")


class Weighing:
    """The heaviest process of each program, weighed again and again.

    The heaviest, since those that were killed and begun anew would hide what the others gain.
    """

    def __init__(self, programs: list):
        self.programs = programs
        self.bytes: dict[str, list[int]] = {program.name: [] for program in programs}
        self.handles: dict[str, list[int]] = {program.name: [] for program in programs}

    def weigh(self) -> None:
        for program in self.programs:
            pids = [program.process.pid, *children_of(program.process.pid)]
            self.bytes[program.name].append(max(map(_bytes_of, pids)))
            self.handles[program.name].append(max(map(_handles_of, pids)))

    def growth_percent(self, weights: dict[str, list[int]]) -> int:
        """Return the greatest growth of a program, from its second quarter to its last."""
        return max(_percent(*_before_and_after(one)) for one in weights.values())

    def said(self, weights: dict[str, list[int]]) -> list[str]:
        """Return what each program weighed then and at last."""
        ends = {name: _before_and_after(one) for name, one in weights.items()}
        return [f"{name}: {before:.0f} to {after:.0f}" for name, (before, after) in ends.items()]


def _before_and_after(weights: list[int]) -> tuple[float, float]:
    quarter = len(weights) // 4
    if not quarter:
        return 0, 0
    # the first quarter is the warming up
    return median(weights[quarter : 2 * quarter]), median(weights[-quarter:])


def _percent(before: float, after: float) -> int:
    return round((after / before - 1) * 100) if before and after - before > FEW else 0


def _bytes_of(pid: int) -> int:
    with contextlib.suppress(OSError):
        # resident pages (proc(5))
        return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * PAGE_BYTES
    return 0


def _handles_of(pid: int) -> int:
    with contextlib.suppress(OSError):
        return len(os.listdir(f"/proc/{pid}/fd"))
    return 0
