"""A site as it was: what its changes said of it by then."""

from copy import copy
from datetime import timedelta

import pytest

from fleet.actions.sites import change_site
from fleet.kinds import Cut
from fleet.past_sites import site_at
from tests.factories import MORNING
from tests.lift_factories import a_site

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
FIRST = "America/New_York"


@pytest.mark.parametrize(
    ("happened", "known", "zone"),
    [(-1, -1, FIRST), (-1, 3, FIRST), (1, 3, FIRST), (2, 1, FIRST), (2, 2, "UTC")],
)
def test_before_its_first_change_a_site_is_as_that_one_says(happened, known, zone):
    site, manager = a_site(at=MORNING)
    change_site(copy(site), {"zone": "UTC"}, by=manager, at=MORNING + 2 * HOUR)
    site.refresh_from_db()

    then = site_at(site, Cut(MORNING + happened * HOUR, MORNING + known * HOUR))

    assert (site.zone, then.zone) == ("UTC", zone)
