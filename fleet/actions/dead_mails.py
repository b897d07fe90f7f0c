"""Mails given up on are tried once more, when a manager has mended what was in the way."""

from fleet.models import Notice

# as if it had never been tried, but for what it may have cost: ``sending_at``, the doubts
FRESH = {
    "claimed_at": None,
    "attempts": 0,
    "deaths": 0,
    "dropped": "",
    "is_dead": False,
}


def try_again(rows, *, at) -> int:
    """Let those of the rows that were given up on wait for the next sweep; return how many.

    The sweep asks once more whether each is still owed; a notice counts as made anew, since it
    may be older than the sweep gives up on. Each row is moved by one conditional update, so
    that pressing twice, or two managers, move it once.
    """
    anew = {"made_at": at} if rows.model is Notice else {}
    return rows.filter(is_dead=True, sent_at=None).update(**FRESH, next_try_at=at, **anew)
