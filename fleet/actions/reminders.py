"""The sweep: one look at what reminders are owed now, run again and again."""

from collections import Counter
from dataclasses import dataclass, field

from fleet.actions import checkpoint_mails, checkpoints, digests, notices
from fleet.post import Post
from fleet.reminding import site_days
from shared.actions import note_done
from shared.models import LastDone


@dataclass
class Swept:
    """What one sweep did: rows it wrote, and how many mails ended how.

    Sweeps that run at once each count the rows that they offered; only one is kept.
    """

    noticed: int = 0
    planned: int = 0
    signed: int = 0
    at_once: Counter = field(default_factory=Counter)
    digests: Counter = field(default_factory=Counter)
    checkpoints: Counter = field(default_factory=Counter)

    @property
    def did_something(self):
        return self != Swept()


def sweep(at) -> Swept:
    """Write what is owed at a moment, sign the day's checkpoints, and mail what waits.

    May run twice, or many at once: rows are unique and each mail goes to the one worker
    that claims its row. Stopped at any line, the next sweep goes on from the rows.

    A site whose journal is older than its newest checkpoint outside is left alone: its mails
    would tell an older state. They wait until the restore is recorded.
    """
    everywhere = site_days(at)
    behind = checkpoints.behind(everywhere)
    days = {pk: here for pk, here in everywhere.items() if pk not in behind}
    signed = checkpoints.make_daily(days, at=at)
    checkpoint_mails.plan(days, at=at)
    swept = Swept(notices.make(days, at=at), digests.plan(days, at=at), signed)
    notices.drop_old(at=at)
    with Post() as post:
        swept.at_once = notices.send_at_once(days, post, at=at)
        swept.digests = digests.send(days, post, at=at, waiting=_people_of(everywhere, behind))
        swept.checkpoints = checkpoint_mails.send(days, post, at=at)
    _note_mail(post, at)
    note_done(LastDone.What.SWEEP, at=at)
    return swept


def _note_mail(post, at):
    if post.reached:
        note_done(LastDone.What.MAIL_REACHED, at=at)
    if post.fault:
        note_done(LastDone.What.MAIL_NOT_REACHED, at=at, fault=post.fault)


def note_clock(watch, *, at):
    """Write down a step of the clock since the last look of this process."""
    if step_s := watch.step_s(at):
        note_done(LastDone.What.CLOCK_STEPPED, at=at, by_s=round(step_s))


def _people_of(everywhere, site_ids):
    return {row.person_id for pk in site_ids for row in everywhere[pk].memberships}
