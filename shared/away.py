"""What people see while the database is away: nothing was saved, and what to do."""

import sqlite3
import sys

from django.db import InterfaceError, OperationalError
from django.http import HttpResponse
from django.template.loader import render_to_string

from shared import disk

SERVICE_UNAVAILABLE = 503
LOOK_AGAIN_S = 10
# of sqlite.org/rescode.html; a missing table is none of them
SQLITE_AWAY = {
    sqlite3.SQLITE_BUSY,
    sqlite3.SQLITE_LOCKED,
    sqlite3.SQLITE_IOERR,
    sqlite3.SQLITE_CANTOPEN,
}
PRIMARY_CODE = 0xFF


def broken(request):
    """Answer in place of a page that raised; Django calls it while the error is at hand."""
    if not is_away(sys.exc_info()[1]):
        return disk.broken(request)
    # without the request: who asks, and what the menu shows, would be looked up
    page = render_to_string("shared/away.html", {"is_post": request.method == "POST"})
    headers = {"Retry-After": LOOK_AGAIN_S, "Cache-Control": "no-store"}
    return HttpResponse(page, status=SERVICE_UNAVAILABLE, headers=headers)


def is_away(error: BaseException | None) -> bool:
    """Say whether the database was lost, is starting, or kept this page waiting too long."""
    if isinstance(error, InterfaceError):
        return True
    if not isinstance(error, OperationalError) or disk.is_full(error):
        return False
    cause = error.__cause__
    if isinstance(cause, sqlite3.Error):
        return getattr(cause, "sqlite_errorcode", 0) & PRIMARY_CODE in SQLITE_AWAY
    return True
