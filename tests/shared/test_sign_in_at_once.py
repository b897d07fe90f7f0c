"""Many tries at once are counted like many one after the other."""

from functools import partial

import pytest

from shared.actions import MOST_BY_PAIR, begin_try
from shared.models import SignInTry
from tests.at_once import at_once
from tests.factories import MORNING

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.services]


def test_tries_at_once_are_never_more_than_may_be(postgres):
    wanted = SignInTry.Wanted.SIGN_IN
    one = partial(begin_try, wanted, "mia@example.org", "10.0.0.1", at=MORNING)

    let_in = [trial for trial in at_once(*[one] * (MOST_BY_PAIR + 10)) if trial is not None]

    assert all(isinstance(trial, SignInTry) for trial in let_in)
    assert len(let_in) <= MOST_BY_PAIR
    assert SignInTry.objects.count() == len(let_in)
