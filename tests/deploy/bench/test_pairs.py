"""The benchmark: ratios of two sides in one run."""

import time

import pytest

from deploy.bench.pairs import WALL, Figure, Pair, measured


def slept(seconds):
    return lambda: time.sleep(seconds)


def test_measured_gives_the_ratio_of_ours_to_the_limit():
    found = measured(Pair("naps", "a nap", 2, slept(0.01), slept(0.03), by=WALL), rounds=3)

    assert found.least <= found.ratio <= found.most
    assert 1.5 < found.ratio < 6
    assert found.ours_ms > found.limit_ms > 9


@pytest.mark.parametrize(("ours_s", "is_met"), [(0.002, True), (0.06, False)])
def test_line_is_met_by_its_median(ours_s, is_met):
    found = measured(Pair("naps", "a nap", 2, slept(0.01), slept(ours_s), by=WALL), rounds=3)

    assert found.is_met is is_met


def test_figure_is_measured_once():
    asked = []

    found = measured(Figure("rows", "rows written", 0, lambda: asked.append(1) or 3, "rows"))

    assert asked == [1]
    assert (found.ratio, found.by, found.is_met) == (3, "rows", False)
