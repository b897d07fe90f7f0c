"""Writes about people themselves: their tries to sign in and their own account."""

import hashlib
from datetime import timedelta

from django.db import transaction

from shared.models import SignInTry

# judgement, no source: slow for a guesser, never felt by one who mistypes
COUNTED_FOR = timedelta(hours=1)
MOST_BY_PAIR, MOST_BY_ACCOUNT, MOST_BY_ADDRESS = 10, 50, 100
# a server that listens on a socket file knows no address
NO_ADDRESS = "0.0.0.0"


def begin_try(wanted, typed, address, *, at):
    """Write a try down before it is judged; None when there were too many within the hour.

    Counted by account and address together, by account and by address. Written first, so
    that tries sent at once count each other; a refused one does not lengthen the wait.
    """
    SignInTry.objects.filter(tried_at__lte=at - COUNTED_FOR).delete()
    trial = SignInTry.objects.create(
        wanted=wanted, account=_account(typed), address=address or NO_ADDRESS, tried_at=at
    )
    counted = SignInTry.objects.since(at - COUNTED_FOR).filter(wanted=wanted)
    of_account = counted.filter(account=trial.account)
    if (
        of_account.filter(address=trial.address).count() > MOST_BY_PAIR
        or of_account.count() > MOST_BY_ACCOUNT
        or counted.filter(address=trial.address).count() > MOST_BY_ADDRESS
    ):
        trial.delete()
        return None
    return trial


def _account(typed):
    return hashlib.sha256(typed.strip().casefold().encode()).hexdigest()


def forget_tries(trial):
    """Let the tries of this account from this address count no more: it signed in."""
    same = SignInTry.objects.filter(wanted=trial.wanted, account=trial.account)
    same.filter(address=trial.address).delete()


@transaction.atomic
def change_account(person, values):
    """Change what a person says of themselves; no entry holds these values."""
    for name, value in values.items():
        setattr(person, name, value)
    person.save(update_fields=list(values))
