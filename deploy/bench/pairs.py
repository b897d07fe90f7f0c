"""A figure of the benchmark: ours against the least that must be done, in the same run."""

import gc
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

ROUNDS = 7


@dataclass(frozen=True)
class Pair:
    """One line: ``ours`` may take ``at_most`` times as long as ``limit``."""

    name: str
    about: str
    at_most: float
    limit: Callable[[], object]
    ours: Callable[[], object]


@dataclass(frozen=True)
class Measured:
    """Ratios of time on the clock, with their spread, and the median times of both sides.

    ``cpu_ratio`` is that of this process alone: on a busy machine the steadier figure.
    """

    name: str
    about: str
    at_most: float
    ratio: float
    least: float
    most: float
    cpu_ratio: float
    limit_ms: float
    ours_ms: float

    @property
    def is_met(self):
        return self.ratio <= self.at_most


def measured(pair: Pair, rounds: int = ROUNDS) -> Measured:
    """Run A B A B, one warm-up and then ``rounds`` rounds; return the median of the ratios."""
    pair.limit()
    pair.ours()
    times = [(_timed(pair.limit), _timed(pair.ours)) for _ in range(rounds)]
    ratios = [ours.wall_s / limit.wall_s for limit, ours in times]
    return Measured(
        name=pair.name,
        about=pair.about,
        at_most=pair.at_most,
        ratio=statistics.median(ratios),
        least=min(ratios),
        most=max(ratios),
        cpu_ratio=statistics.median(ours.cpu_s / limit.cpu_s for limit, ours in times),
        limit_ms=1000 * statistics.median(limit.wall_s for limit, _ in times),
        ours_ms=1000 * statistics.median(ours.wall_s for _, ours in times),
    )


class _Took(NamedTuple):
    wall_s: float
    cpu_s: float


def _timed(act):
    gc.collect()
    wall_s, cpu_s = time.perf_counter(), time.process_time()
    act()
    return _Took(time.perf_counter() - wall_s, time.process_time() - cpu_s)
