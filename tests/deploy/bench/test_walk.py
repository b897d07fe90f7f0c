"""Every page's statements touch as much in a large fleet as in a small one."""

import pytest

from tests.deploy.bench.walk import walked

pytestmark = pytest.mark.services
FEW = 200


def may_touch(asked):
    """Return the buffers that a statement may touch in a larger fleet: one for each row more."""
    return 1.35 * asked.buffers + FEW + asked.rows


def test_no_page_touches_more_because_the_fleet_is_large(fleets):
    found = []
    for scale in ("small", "large"):
        with fleets.at(scale):
            found.append(walked(fleets))

    small, large = found
    assert len(small.keys() & large.keys()) > 200
    grown = {
        f"{large[said].page}: {small[said].buffers} to {large[said].buffers}": said
        for said in small.keys() & large.keys()
        if large[said].buffers > may_touch(small[said])
    }
    assert grown == {}
