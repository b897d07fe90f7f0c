"""A figure of the benchmark: ours against the least that must be done, in the same run."""

import gc
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

from deploy.bench import backend

ROUNDS = 7
CPU, WALL = "cpu", "wall"


@dataclass(frozen=True)
class Pair:
    """One line: ``ours`` may take ``at_most`` times what ``limit`` takes.

    ``by`` says of what: CPU seconds of this process and its database backend, or WALL.
    """

    name: str
    about: str
    at_most: float
    limit: Callable[[], object]
    ours: Callable[[], object]
    by: str = CPU


@dataclass(frozen=True)
class Figure:
    """One line that is a single number, such as MiB or rows; ``find`` returns it."""

    name: str
    about: str
    at_most: float
    find: Callable[[], float]
    unit: str


@dataclass(frozen=True)
class Measured:
    """The ratio that counts, with its spread; both ratios; the median times of both sides."""

    name: str
    about: str
    at_most: float
    ratio: float
    least: float
    most: float
    by: str
    wall_ratio: float = 0
    cpu_ratio: float = 0
    limit_ms: float = 0
    ours_ms: float = 0
    scale: str = ""

    @property
    def is_met(self):
        return self.ratio <= self.at_most


def measured(line: Pair | Figure, rounds: int = ROUNDS) -> Measured:
    """Measure a line: a pair as A B A B, one warm-up and then ``rounds`` rounds."""
    if isinstance(line, Figure):
        found = line.find()
        return Measured(line.name, line.about, line.at_most, found, found, found, line.unit)
    line.limit()
    line.ours()
    times = [(_timed(line.limit), _timed(line.ours)) for _ in range(rounds)]
    by_wall = [ours.wall_s / limit.wall_s for limit, ours in times]
    # a backend's ticks are 10 ms: an act too short for them says nothing
    by_cpu = [ours.cpu_s / max(limit.cpu_s, 1e-9) for limit, ours in times]
    ratios = by_cpu if line.by == CPU else by_wall
    return Measured(
        name=line.name,
        about=line.about,
        at_most=line.at_most,
        ratio=statistics.median(ratios),
        least=min(ratios),
        most=max(ratios),
        by=line.by,
        wall_ratio=statistics.median(by_wall),
        cpu_ratio=statistics.median(by_cpu),
        limit_ms=1000 * statistics.median(limit.wall_s for limit, _ in times),
        ours_ms=1000 * statistics.median(ours.wall_s for _, ours in times),
    )


class _Took(NamedTuple):
    wall_s: float
    cpu_s: float


def _timed(act):
    gc.collect()
    wall_s, cpu_s = time.perf_counter(), _cpu_s()
    act()
    return _Took(time.perf_counter() - wall_s, _cpu_s() - cpu_s)


def _cpu_s():
    return time.process_time() + backend.cpu_s()
