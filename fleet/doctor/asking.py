"""Asks every look in turn; one that fails is itself a sign, and stops no other."""

import logging

from django.db import Error as DatabaseTrouble
from django.utils.translation import gettext as _

from fleet.doctor import database
from fleet.doctor.looks import DATABASE, LOOKS
from fleet.doctor.sign import Answer, Sign, trouble

log = logging.getLogger(__name__)

MOST_FAULT_CHARS = 200


def signs(at, looks=LOOKS) -> list[Sign]:
    """Return a sign for each thing looked at; what has no bearing here is left out.

    Works with the database away: then that is the one sign of all that is read from it.
    """
    answering = _sign(DATABASE, at)
    found = [answering]
    for look in looks:
        if look.needs_database and answering.is_trouble:
            continue
        found.append(_sign(look, at))
    return [sign for sign in found if sign is not None]


def troubles_first(found):
    return sorted(found, key=lambda sign: not sign.is_trouble)


def _sign(look, at):
    try:
        answer = look.ask(at)
    except Exception as error:  # a look that fails is a sign, never the end of the others
        log.warning("the look %s failed: %s", look.code, type(error).__name__)
        answer = _failed(error)
    if answer is None:
        return None
    return Sign(look.code, str(look.title), **_fields(answer))


def _fields(answer: Answer):
    return {name: getattr(answer, name) for name in ("said", "is_trouble", "todo", "sites")}


def _failed(error):
    if isinstance(error, DatabaseTrouble):
        database.let_go()
    words = " ".join(str(error).split())[:MOST_FAULT_CHARS]
    said = _("This could not be looked at: %(kind)s: %(words)s")
    return trouble(
        said % {"kind": type(error).__name__, "words": words},
        _("Put right what is named there, and look again."),
    )
