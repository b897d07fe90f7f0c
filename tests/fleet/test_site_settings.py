"""What a site says of itself: changed on its page, and journalled."""

from datetime import date

import pytest
from django.urls import reverse

from fleet.forms.site import read_closures
from shared import clock
from shared.models import Change, Site
from tests.factories import MORNING
from tests.lift_factories import a_site

pytestmark = pytest.mark.django_db


@pytest.fixture
def here():
    return a_site()


@pytest.fixture
def signed_in(client, here):
    client.force_login(here[1])
    return client


SETTINGS = {
    "name": "Harbour",
    "zone": "Europe/Madrid",
    "units": "metric",
    "date_order": "dmy",
    "working_days": ["1", "2", "5"],
    "closures": "24/12/2026 to 26/12/2026\n1/1/2027",
    "digest_hour": "5",
    "mechanic_minutes_a_day": "240",
    "start_day": "2026-03-01",
}


def change(client, site, **changes):
    return client.post(reverse("site-change", args=[site.slug]), SETTINGS | changes)


def test_site_settings_are_changed_and_journalled(signed_in, here):
    site, manager = here
    assert change(signed_in, site).status_code == 302

    site.refresh_from_db()
    said = Change.objects.filter(what="site").last()
    assert (site.zone, site.units, site.working_days) == ("Europe/Madrid", "metric", "125")
    assert site.closures == [["2026-12-24", "2026-12-26"], ["2027-01-01", "2027-01-01"]]
    assert (site.digest_hour, site.mechanic_minutes_a_day) == (5, 240)
    assert site.start_day == date(2026, 3, 1)
    assert (said.by, said.value["zone"], said.value["start_day"]) == (
        manager,
        "Europe/Madrid",
        "2026-03-01",
    )


def test_a_start_day_lies_at_most_a_year_ahead(signed_in, here, monkeypatch):
    site, _manager = here
    monkeypatch.setattr(clock, "now", lambda: MORNING)

    refused = change(signed_in, site, start_day="2027-03-03")

    (said,) = refused.context["form"].errors["start_day"]
    assert said.startswith("The start day 03/03/2027 is more than a year ahead")
    assert said.endswith("Give one up to 03/02/2027.")
    assert change(signed_in, site, start_day="2027-03-02").status_code == 302


def test_site_settings_sent_unchanged_write_nothing(signed_in, here):
    change(signed_in, here[0])
    before = Change.objects.count()

    change(signed_in, here[0])

    assert Change.objects.count() == before


@pytest.mark.parametrize(
    "changes",
    [
        {"zone": "Here"},
        {"digest_hour": "24"},
        {"mechanic_minutes_a_day": "-1"},
        {"working_days": []},
        {"closures": "someday"},
        {"closures": "26/12/2026 to 24/12/2026"},
        {"closures": "1/1/2027\n" * 61},
    ],
)
def test_site_settings_that_are_wrong_change_nothing(signed_in, here, changes):
    before = Change.objects.count()

    response = change(signed_in, here[0], **changes)

    assert response.status_code == 200
    assert response.text.count('class="errorlist"') == 1
    assert Change.objects.count() == before
    assert Site.objects.get(pk=here[0].pk).zone == "America/New_York"


def test_closures_are_read_in_the_order_of_the_site():
    assert read_closures("\n 3/2/2026 \n", "mdy") == [["2026-03-02", "2026-03-02"]]
    assert read_closures("3/2/2026", "dmy") == [["2026-02-03", "2026-02-03"]]
