"""A past day or moment as people write it, and the two times of a question."""

import re
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from fleet.kinds import Cut
from fleet.past_sites import zone_of
from shared.clock import end_of
from shared.dates import comes_twice, is_skipped, moment_of_local, offset_of

DAY = re.compile(r"\d{4}-\d\d-\d\d")
MOMENT = re.compile(r"\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d(\.\d{1,6})?)?(Z|[+-]\d\d:\d\d)?")


class NotAMoment(ValueError):
    """What was written names no past day or moment; the message says why, in words.

    ``choices`` are the two moments that a local time may mean when it comes twice.
    """

    def __init__(self, message, choices=()):
        super().__init__(message)
        self.choices = choices


def moment_of(text, site, *, at) -> datetime:
    """Return the moment that a person wrote, in UTC.

    A day such as 2026-03-05 is its end at the site, and today is ``at``. A time without
    an offset is one of the site's clocks; to the second, so that 14:05 is 14:05:00.
    Raises NotAMoment.
    """
    text = text.strip()
    try:
        found = _read(text, site, at)
    except NotAMoment:
        raise
    except (ValueError, OverflowError) as error:
        raise _unreadable(text) from error
    if found > at:
        raise NotAMoment(
            _("%(text)s is not over yet: choose a moment before now.") % {"text": text}
        )
    return found


def _read(text, site, at):
    if DAY.fullmatch(text):
        return _end_of(date.fromisoformat(text), site, at)
    if not MOMENT.fullmatch(text):
        raise _unreadable(text)
    written = datetime.fromisoformat(text)
    return _by_the_site(written, site) if written.tzinfo is None else written.astimezone(UTC)


def _unreadable(text):
    said = _(
        "%(text)s is neither a day like 2026-03-31 nor a moment like 2026-03-31T14:05 "
        "or 2026-03-31T14:05-04:00."
    )
    return NotAMoment(said % {"text": text})


def _end_of(day, site, at):
    end = end_of(day, zone_of(site, datetime.combine(day, time.max)))
    return at if day == site.day(at) else end


def _by_the_site(local, site):
    zone = zone_of(site, local)
    if is_skipped(local, zone):
        raise NotAMoment(_("The clocks skipped %(time)s that day.") % {"time": f"{local:%H:%M}"})
    if comes_twice(local, zone):
        twice = [local.replace(tzinfo=ZoneInfo(zone), fold=fold) for fold in (0, 1)]
        said = _("%(time)s came twice that day: write it with its offset, %(one)s or %(other)s.")
        names = {"one": offset_of(twice[0]), "other": offset_of(twice[1])}
        raise NotAMoment(said % (names | {"time": f"{local:%H:%M}"}), twice)
    return moment_of_local(local, zone)


def cut_of(happened_by, known_by, *, at) -> Cut:
    """Return the two times of a question, each a moment or None.

    Happened by alone is asked with all that is known now; known by alone is that moment as
    it was known then; neither is now.
    """
    known = known_by or at
    return Cut(happened_by or known, known)
