"""The sweep: one look at what reminders are owed now, run again and again."""

from collections import Counter
from dataclasses import dataclass, field

from fleet.actions import checkpoint_mails, checkpoints, digests, notices
from fleet.post import Post
from fleet.reminding import site_days
from shared.actions import note_done
from shared.models import LastDone

PEOPLE_A_BATCH = 50


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


def sweep(at, hand_out=lambda people: False, *, signs=True) -> Swept:
    """Write what is owed at a moment, sign the day's checkpoints, and mail what waits.

    Once the server takes mail, ``hand_out(people)`` may have other workers send the daily mails
    of many people, each by ``mail_digests``; where it returns False this sweep sends them.

    A moment of a trial ``signs`` nothing: a checkpoint tells when it was made.

    May run twice, or many at once: rows are unique and each mail goes to the one worker
    that claims its row. Stopped at any line, the next sweep goes on from the rows.

    A site whose journal is older than its newest checkpoint outside is left alone: its mails
    would tell an older state. They wait until the restore is recorded.
    """
    days, waiting = _days_and_waiting(site_days(at))
    signed = checkpoints.make_daily(days, at=at) if signs else 0
    checkpoint_mails.plan(days, at=at)
    swept = Swept(notices.make(days, at=at), digests.plan(days, at=at), signed)
    notices.drop_old(at=at)
    with Post() as post:
        swept.at_once = notices.send_at_once(days, post, at=at)
        to = digests.people_waiting(at=at)
        mine, others = to[:PEOPLE_A_BATCH], to[PEOPLE_A_BATCH:]
        swept.digests = digests.send(days, post, at=at, to=mine, waiting=waiting)
        if others and not (post.reached and not post.fault and hand_out(others)):
            swept.digests += digests.send(days, post, at=at, to=others, waiting=waiting)
        swept.checkpoints = checkpoint_mails.send(days, post, at=at)
    _note_mail(post, at)
    note_done(LastDone.What.SWEEP, at=at)
    return swept


def mail_digests(people, at) -> Counter:
    """Mail the digests that wait for some people; return how many ended how.

    May run twice, or while a sweep does: each mail goes to the one worker that claims its row.
    """
    days, waiting = _days_and_waiting(site_days(at, people))
    with Post() as post:
        ended = digests.send(days, post, at=at, to=people, waiting=waiting)
    _note_mail(post, at)
    return ended


def _days_and_waiting(everywhere):
    """Return the days of the sites that are not behind, and the people of those that are."""
    behind = checkpoints.behind(everywhere)
    days = {pk: here for pk, here in everywhere.items() if pk not in behind}
    return days, _people_of(everywhere, behind)


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
