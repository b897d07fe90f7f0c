"""Of several who begin an installation at once, one becomes its manager."""

from functools import partial

import pytest

from fleet.actions.first import AlreadyBegun, begin
from shared.models import Person, Site
from tests.at_once import at_once
from tests.factories import MORNING

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.services]


def one(number):
    site = {"slug": f"north-{number}", "name": "North", "zone": "UTC"}
    who = {"name": "Ana", "email": f"ana{number}@example.org", "password": "four words in a row"}
    return partial(begin, site, **who, at=MORNING)


def test_one_of_four_begins(postgres):
    answers = at_once(*map(one, range(4)))

    refused = [answer for answer in answers if isinstance(answer, AlreadyBegun)]
    assert len(refused) == 3
    assert (Person.objects.count(), Site.objects.count()) == (1, 1)
