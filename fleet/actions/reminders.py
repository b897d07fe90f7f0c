"""The sweep: one look at what reminders are owed now, run again and again."""

from collections import Counter
from dataclasses import dataclass, field

from fleet.actions import digests, notices
from fleet.post import Post
from fleet.reminding import site_days


@dataclass
class Swept:
    """What one sweep did: rows it wrote, and how many mails ended how.

    Sweeps that run at once each count the rows that they offered; only one is kept.
    """

    noticed: int = 0
    planned: int = 0
    at_once: Counter = field(default_factory=Counter)
    digests: Counter = field(default_factory=Counter)

    @property
    def did_something(self):
        return bool(self.noticed or self.planned or self.at_once or self.digests)


def sweep(at) -> Swept:
    """Write the notices and digests that are owed at a moment, and mail what waits.

    May run twice, or many at once: rows are unique and each mail goes to the one worker
    that claims its row. Stopped at any line, the next sweep goes on from the rows.
    """
    days = site_days(at)
    swept = Swept(notices.make(days, at=at), digests.plan(days, at=at))
    notices.drop_old(at=at)
    with Post() as post:
        swept.at_once = notices.send_at_once(days, post, at=at)
        swept.digests = digests.send(days, post, at=at)
    return swept
