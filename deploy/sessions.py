"""Sessions in the database that cost nobody a page while the database is away.

A session is written last, after what the page itself saved: to fail then would tell people that
nothing was saved. What is lost is a word of thanks, or that the cautions were seen.
"""

import logging

from django.contrib.sessions.backends import db
from django.contrib.sessions.backends.base import UpdateError
from django.db import InterfaceError

from shared import away

log = logging.getLogger(__name__)


class SessionStore(db.SessionStore):
    def save(self, must_create=False):
        """Write it. Raises UpdateError where another request has ended the session meanwhile."""
        try:
            super().save(must_create)
        except (UpdateError, InterfaceError) as error:
            # Django gives a lost database the name of a lost session
            cause = error.__context__ if isinstance(error, UpdateError) else error
            if must_create or not away.is_away(cause):
                raise
            log.warning("a session was not kept: %s", type(cause).__name__)
