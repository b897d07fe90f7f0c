"""Write and mail the reminders that are owed: once, for a trial moment, or for ever."""

import contextlib
import logging
import time
from datetime import datetime

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import close_old_connections
from django.utils.translation import gettext as _

from fleet import job_process
from fleet.actions import jobs, reminders
from shared import clock
from shared.actions import note_done
from shared.models import LastDone

log = logging.getLogger(__name__)
watch = clock.Watch()


class Command(BaseCommand):
    help = "Write and mail the reminders that are owed now, or at a moment for trials."

    def add_arguments(self, parser):
        when = parser.add_mutually_exclusive_group()
        when.add_argument("--at", metavar="MOMENT", help="such as 2026-03-05T07:00-05:00")
        loop = f"go on every {settings.SWEEP_EVERY_S} seconds, with no broker"
        when.add_argument("--loop", action="store_true", help=loop)

    def handle(self, *args, at, loop, **options):
        if loop:
            with contextlib.suppress(KeyboardInterrupt):
                for_ever(self.sweep_now)
            return
        swept = reminders.sweep(past(at), signs=False) if at else reminders.sweep(clock.now())
        self.stdout.write(line_of(swept))

    def sweep_now(self):
        at = clock.now()
        reminders.note_clock(watch, at=at)
        jobs.start_waiting(job_process.start, at=at)
        swept = reminders.sweep(at)
        note_done(LastDone.What.SWEEP_BY_LOOP, at=at)
        if swept.did_something:
            self.stdout.write(line_of(swept))


def moment(text):
    """Return the moment a person wrote, with its offset from UTC."""
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is None or found.tzinfo is None:
        raise CommandError(
            _("--at must be a moment with its offset, like 2026-03-05T07:00-05:00, not %(text)s")
            % {"text": text}
        )
    return found


def past(text):
    """Return the moment a person wrote; one still to come is refused."""
    found = moment(text)
    if found > clock.now():
        raise CommandError(
            _("--at %(text)s is still to come: choose a moment before now") % {"text": text}
        )
    return found


def for_ever(act, *, sleep=time.sleep):
    """Call ``act`` again and again by the monotonic clock, whatever becomes of a call."""
    while True:
        began_s = time.monotonic()
        close_old_connections()
        try:
            act()
        except Exception:  # the database may be back by the next sweep
            log.exception("the sweep failed")
        sleep(max(0, began_s + settings.SWEEP_EVERY_S - time.monotonic()))


def line_of(swept):
    written = _("notices %(noticed)s; digests %(planned)s; checkpoints %(signed)s") % {
        "noticed": swept.noticed,
        "planned": swept.planned,
        "signed": swept.signed,
    }
    mailed = _("at once: %(at_once)s; daily: %(daily)s; checkpoints mailed: %(checkpoints)s") % {
        "at_once": _counts(swept.at_once),
        "daily": _counts(swept.digests),
        "checkpoints": _counts(swept.checkpoints),
    }
    return f"{written}; {mailed}"


def _counts(ended):
    said = {
        "sent": _("%s sent"),
        "empty": _("%s empty"),
        "dropped": _("%s dropped"),
        "failed": _("%s failed"),
        "dead": _("%s dead"),
    }
    return ", ".join(said[how] % ended[how] for how in said)
