"""Whether the machine's clock can be believed."""

from datetime import timedelta

from django.db.models import Max
from django.utils.translation import gettext as _

from fleet.doctor import ages
from fleet.doctor.sign import trouble, well
from shared.models import JournalHead, LastDone

# what clocks of two machines may differ by; a later step is told
BEHIND = timedelta(minutes=5)
STEP_TOLD_FOR = timedelta(days=1)
# longer than a notice is owed: what was written before a step has its whole time after it
STEP_DOUBTED_FOR = timedelta(days=8)


def stepped(at):
    row = ages.last(LastDone.What.CLOCK_STEPPED)
    # a step back leaves its own row in the future
    if row is None or at - row.at > STEP_TOLD_FOR:
        return well(_("No step in the last day."))
    by_s = round(row.said.get("by_s", 0))
    said = _("The clock stepped by %(seconds)s s, %(ago)s.")
    return trouble(said % {"seconds": f"{by_s:+d}", "ago": ages.ago(at - row.at)}, _todo())


def behind(at):
    behind_by = _behind_by(at)
    if behind_by > BEHIND:
        said = _("The clock is %(age)s behind the newest entry of a journal.")
        return trouble(said % {"age": ages.said(behind_by)}, _todo())
    return well(_("The clock is not behind what was recorded."))


def is_believed(at):
    """Whether nothing is known against the clock: what is too old by it may be given up."""
    stepped_ago = ages.age_of(LastDone.What.CLOCK_STEPPED, at)
    was_stepped = stepped_ago is not None and stepped_ago <= STEP_DOUBTED_FOR
    return not was_stepped and _behind_by(at) <= BEHIND


def _behind_by(at):
    newest = JournalHead.objects.aggregate(at=Max("last_received_at"))["at"]
    return (newest or at) - at


def _todo():
    return _("Set the machine's clock by NTP; due days are counted by it.")
