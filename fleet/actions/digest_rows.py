"""How a digest ended, and with it the notices that it carried: both or neither."""

from django.db import connection, transaction

from fleet.actions import claims
from fleet.actions.quick_claims import STILL, moment, said, still
from fleet.models import Digest, Notice

CARRIED = "sent_at IS NULL AND dropped = '' AND EXISTS (SELECT FROM ended)"
# one statement: it is whole without a transaction around it
SETTLE = f"""
    WITH ended AS (
        UPDATE {{table}} SET sent_at = %(sent_at)s, empty = %(empty)s WHERE {STILL} RETURNING id
    ), over AS (
        UPDATE fleet_notice SET dropped = %(why)s
        WHERE id = ANY(%(gone)s::bigint[]) AND {CARRIED}
    )
    UPDATE fleet_notice SET sent_at = %(at)s WHERE id = ANY(%(kept)s::bigint[]) AND {CARRIED}
"""


def settle(digest, kept, gone, *, why, at, is_mailed):
    """Mark a claimed digest and the ``kept`` notices; drop those that are ``gone``, and say why."""
    ending = {"sent_at": at, "empty": False} if is_mailed else {"sent_at": None, "empty": True}
    (_at_once if connection.vendor == "postgresql" else _one_by_one)(
        digest, kept, gone, ending, why, at
    )


def _at_once(digest, kept, gone, ending, why, at):
    asked = ending | still(digest) | {"kept": _array(kept), "gone": _array(gone)}
    asked |= {"why": why, "at": moment(at)}
    with connection.cursor() as cursor:
        cursor.execute(said(SETTLE, Digest), asked)


@transaction.atomic
def _one_by_one(digest, kept, gone, ending, why, at):
    if claims.settle([digest], **ending):
        Notice.objects.filter(claims.WAITING[Notice], pk__in=kept).update(sent_at=at)
        claims.drop(Notice.objects.filter(pk__in=gone), why)


def _array(ids):
    """Return numbers as PostgreSQL writes them: at once, not one by one."""
    return f"{{{','.join(map(str, ids))}}}"
