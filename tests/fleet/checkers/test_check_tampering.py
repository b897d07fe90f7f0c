"""A thousand tamperings of ten kinds: each is found, and named where it lies."""

import io
import random

import pytest

from fleet.checkers import check
from tests.fleet.checkers import tampering
from tests.fleet.checkers.building import bundle_of

TIMES = 100
STORIES = [tampering.small_story(seed) for seed in range(5)]


@pytest.mark.parametrize("story", STORIES)
def test_bundle_that_nobody_touched_is_clean(story):
    report, _bundle = check.check(io.BytesIO(bundle_of(story)))

    assert report.is_clean, list(report.lines())


@pytest.mark.parametrize("kind", tampering.KINDS)
def test_each_tampering_is_found_and_named(kind):
    for seed in range(TIMES):
        source = random.Random(f"{kind} {seed}")
        tampered = tampering.KINDS[kind](source.choice(STORIES), source)

        report, _bundle = check.check(io.BytesIO(tampered.data), tampered.given)

        assert not report.is_clean, seed
        for name, words in tampered.named:
            assert name in report.failed, (seed, name, report.verdicts)
            assert words in " ".join(report.found[name][1]), (seed, words, report.found[name])


def test_a_thousand_are_tried():
    assert TIMES * len(tampering.KINDS) == 1000
