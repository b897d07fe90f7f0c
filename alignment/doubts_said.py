"""What leads before anything is turned, in words: an odd reading, a bent part, a turn too far."""

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment import next_step, words
from alignment.counting import TOE, counting
from alignment.more_readings import mark_said
from alignment.other_way import other_way_said

REASONS = {
    next_step.KERB_HIT: _(
        "After the kerb hit, look first for a bent or worn part: steering arm, knuckle, "
        "tie rod, wheel"
    ),
    next_step.TOO_FAR: _("More than five turns: look for a bent part, or a misread reading"),
}
HIT = _(
    "Outside: %(names)s. Nothing is turned to make up for a bend: put the part right, "
    "then measure again."
)
TOE_TOO = _("Read toe too, so that all of it is recorded.")
LAST_TURN = _(
    "The last turn did not move %(names)s as it should. A jam nut still tight, a stripped thread, "
    "or the arm told on the wrong side of the axle? Put that right before more is turned."
)
LONG = _(
    "More than two turns: is the thread long enough? Keep as much thread in as the rod is thick "
    "(common practice, no source). Look for a bent part or a misread gap first."
)


def doubts_said(step, sheet):
    """Yield what is to be thought of before the step is done."""
    names = {"names": words.listed(step.names)}
    if step.reason == next_step.KERB_HIT:
        yield str(HIT) % names
        if not counting(sheet)[TOE]:
            yield str(TOE_TOO)
    if step.kind == next_step.LOOK_AT_TURN:
        yield str(LAST_TURN) % names
    if step.most_flats > next_step.LONG_FLATS:
        yield str(LONG)
    yield from _other_way(step)
    if step.least:
        yield _read_often(sheet, step.least)


def _other_way(step):
    against = {one.gain.other_way: one.name for one in step.corrections if one.gain}
    for turns, name in against.items():
        if turns is not None:
            yield other_way_said(turns, name)


def _read_often(sheet, least):
    said = {"count": least.count, "mark": mark_said(sheet, TOE, least)}
    with_this = gettext("Read toe at least %(count)s times with this tape: once proves nothing.")
    finer = gettext("With this tape nothing proves toe inside: it takes %(count)s by %(mark)s.")
    return (with_this if least.mark == sheet.mark_mm else finer) % said
