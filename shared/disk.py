"""What people see when the server's disk is full: nothing was saved, and why."""

import errno
import sys
from collections.abc import Iterator

from django.http import HttpResponse
from django.template import loader
from django.views.defaults import server_error

INSUFFICIENT_STORAGE = 507
FULL = "The disk is full"
OF_FILES = {errno.ENOSPC, errno.EDQUOT}
# PostgreSQL's appendix A: disk_full
POSTGRESQL_FULL = "53100"
# sqlite.org/rescode.html: SQLITE_FULL
SQLITE_FULL = 13


def is_full(error: BaseException | None) -> bool:
    """Say whether an error, or what it came of, is a full disk: of files or of the database."""
    return any(_is_full(one) for one in _with_causes(error))


def _is_full(error):
    return (
        (isinstance(error, OSError) and error.errno in OF_FILES)
        or getattr(error, "sqlstate", None) == POSTGRESQL_FULL
        or getattr(error, "sqlite_errorcode", None) == SQLITE_FULL
    )


def _with_causes(error) -> Iterator[BaseException]:
    seen = set()
    while error is not None and id(error) not in seen:
        seen.add(id(error))
        yield error
        error = error.__cause__ or error.__context__


def broken(request):
    """Answer for whatever a page raised, wherever that was: also while an upload was read."""
    if is_full(sys.exc_info()[1]):
        page = loader.get_template("507.html").render()
        return HttpResponse(page, status=INSUFFICIENT_STORAGE)
    return server_error(request)
