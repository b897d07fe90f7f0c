"""Writes about people themselves, their ways in, and when the service last did what it must."""

import hashlib
import logging
import secrets
from datetime import timedelta

from django.contrib.auth.hashers import make_password
from django.db import transaction

from shared.disk import is_full
from shared.models import LastDone, PageSeen, Person, SignInTry, SurveyorLink
from shared.models.surveyor import MOST_ADDRESS_CHARS
from shared.surveyor_code import new_code, plain_code

log = logging.getLogger(__name__)

# judgement, no source: slow for a guesser, never felt by one who mistypes
COUNTED_FOR = timedelta(hours=1)
MOST_BY_PAIR, MOST_BY_ACCOUNT, MOST_BY_ADDRESS = 10, 50, 100
# a server that listens on a socket file knows no address
NO_ADDRESS = "0.0.0.0"
LINK_BYTES = 32


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


class NewerLink(Exception):
    """Another link was made for the person in between."""


@transaction.atomic
def make_link(person, *, after, by, at):
    """Make a surveyor's link in place of any before; return its token and its code.

    Both are told now or never: only hashes stay. ``after`` is the link that was the newest
    when this was asked, None without one: raises NewerLink when it is not so any more, so
    that a form sent twice makes one.
    """
    Person.objects.select_for_update().get(pk=person.pk)
    if SurveyorLink.objects.newest_of(person) != after:
        raise NewerLink(person)
    withdraw_links(person, by=by, at=at)
    token, code = secrets.token_urlsafe(LINK_BYTES), new_code()
    SurveyorLink.objects.create(
        person=person,
        token_sha256=hash_of(token),
        code=make_password(plain_code(code)),
        made_at=at,
        made_by=by,
    )
    return token, code


def withdraw_links(person, *, by, at):
    """Let no link of the person let in any more; say whether there was one."""
    live = SurveyorLink.objects.live().filter(person=person)
    return live.update(withdrawn_at=at, withdrawn_by=by) > 0


def hash_of(token):
    """Return what is kept of a link's secret."""
    return hashlib.sha256(token.encode()).hexdigest()


def note_page(site, person, page, address, *, is_download, at):
    """Write down that a surveyor looked at a page, or took a file away."""
    PageSeen.objects.create(
        site=site,
        person=person,
        at=at,
        page=page,
        address=address[:MOST_ADDRESS_CHARS],
        is_download=is_download,
    )


def note_done(what, *, at, **said):
    """Write when something was last done and what was seen; whatever fails, its caller goes on."""
    row = LastDone(what=what, at=at, said=said)
    try:
        with transaction.atomic():
            LastDone.objects.bulk_create(
                [row], update_conflicts=True, unique_fields=["what"], update_fields=["at", "said"]
            )
    except Exception as error:  # a note is worth less than what it tells of
        # of a full disk the caller tells already
        log.error("it could not be noted that there was: %s", what, exc_info=not is_full(error))
