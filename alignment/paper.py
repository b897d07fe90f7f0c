"""The sheet's questions for a round that is printed, pass by pass."""

from django.utils.translation import gettext

from alignment.conditions import LEVEL_OR_NOT, PRESSURES, READY
from alignment.models import CamberToeSheet, Side

PASSES_ON_PAPER = 4
BEFORE = ("between", "diameter")
AFTER = ("jam_nuts", "wheel_centred")


def on_paper(form):
    """Yield (label, boxes, what helps) of each line."""
    yield form.fields["ready"].label, [label for _name, label in READY], ""
    for name in PRESSURES:
        yield form.fields[name].label, [], ""
    yield form.fields["floor"].label, [label for _value, label in LEVEL_OR_NOT], ""
    yield gettext("Floor: low side, fall, over a width of"), [], ""
    yield form.fields["mark"].label, [mark for mark, _label in form.fields["mark"].choices], ""
    for name in BEFORE:
        yield form.fields[name].label, [], ""
    for n in range(1, PASSES_ON_PAPER + 1):
        yield from _pass(n)
    for name in AFTER:
        yield form.fields[name].label, [""], ""
    yield form.fields["pull"].label, CamberToeSheet.Pull.labels, ""


def _pass(n):
    numbered = gettext("Pass %(n)s") % {"n": n}
    if n == 1:
        numbered = gettext("Pass 1, as found")
    else:
        steps = [gettext("camber sleeve turned"), gettext("tie rod turned"), gettext("driven")]
        yield numbered, steps, gettext("one of these, then read again")
        yield f"{numbered}: {gettext('flats left, right; longer or shorter')}", [], ""
    for side in Side.labels:
        gaps = gettext("camber %(side)s: gap at top, at bottom, up to three times")
        yield f"{numbered}: {gaps % {'side': side}}", [], ""
    toe = gettext("toe, after camber: front and rear, up to five times")
    yield f"{numbered}: {toe}", [], ""
