"""The sheet's questions for a round that is printed, pass by pass, each with numbered rooms."""

from django.utils.translation import gettext

from alignment.conditions import LEVEL_OR_NOT, READY
from alignment.models import CamberAdjusts, CamberToeSheet, Side
from alignment.reading_fields import CAMBER_READINGS, TOE_READINGS, WAYS
from alignment.signs import signed_deg
from alignment.spec_words import camber_band, toe_band
from fleet.paper import Line
from shared.units import UNITS_OF, printed

PASSES_ON_PAPER = 4


def on_paper(form):
    """Yield the lines of the page, in the order of the work."""
    yield from _to_know(form)
    yield from _before(form)
    yield from _tools(form)
    for n in range(1, PASSES_ON_PAPER + 1):
        yield from _pass(n)
    yield from _after(form)


def _to_know(form):
    known, units = form.known, str(form.visit.site.units)
    sign = gettext(
        "Camber: minus = top leans in (bigger gap at top). "
        "Toe: rear less front; plus = toe-in (front closer)."
    )
    yield Line(gettext("Signs"), text=sign)
    limits = known.figures.limits
    said = gettext("camber %(camber)s; left less right up to %(apart)s; %(toe)s. From: %(source)s")
    yield Line(
        gettext("Limits"),
        text=said
        % {
            "camber": camber_band(limits),
            "apart": signed_deg(limits.side_to_side_deg).lstrip("+"),
            "toe": toe_band(limits, units),
            "source": known.figures.limits_from,
        },
    )
    about = " ".join(known.said())
    hit = gettext("kerb or pothole hit since the last sheet")
    yield Line(gettext("The cart"), (hit,), text=f"{about} " if about else "")


def _before(form):
    fields = form.fields
    yield Line(fields["ready"].label, tuple(label for _name, label in READY))
    unit = printed(UNITS_OF[str(form.visit.site.units)]["pressure"])
    rooms = gettext("set to"), gettext("left"), gettext("right")
    yield Line(gettext("Tyres, cold (%s)") % unit, rooms=rooms)
    floor = (gettext("low side"), gettext("fall"), gettext("over"))
    yield Line(fields["floor"].label, tuple(label for _v, label in LEVEL_OR_NOT), rooms=floor)
    yield Line(fields["camber_adjusts"].label, tuple(CamberAdjusts.labels))
    stands = tuple(label for value, label in fields["wheel_stands"].choices if value)
    yield Line(gettext("Steering wheel"), stands, rooms=(gettext("off straight by °"),))


def _tools(form):
    marks = tuple(mark for mark, _label in form.fields["mark"].choices)
    yield Line(gettext("Tape, smallest mark"), marks)
    rooms = (gettext("height between"), gettext("tyre diameter"), gettext("gauge’s step °"))
    yield Line(gettext("Square, tyre, gauge"), rooms=rooms)


def _pass(n):
    yield _found() if n == 1 else _step(n)
    about = {"n": n}
    for side in Side.labels:
        label = gettext("%(n)s: camber %(side)s") % {**about, "side": side}
        yield Line(label, rooms=tuple(_pairs()))
    for end in (gettext("front"), gettext("rear")):
        label = gettext("%(n)s: toe, %(end)s") % {**about, "end": end}
        yield Line(label, rooms=tuple(str(k) for k in TOE_READINGS))


def _found():
    said = gettext(
        "Camber first, then toe. Mark ½ where read after half a turn of the wheel. "
        "A gauge’s reading goes in the top’s room."
    )
    return Line(gettext("Pass 1, as found"), text=said)


def _step(n):
    """Return the line of what was done before a pass was read: one thing, and how far."""
    steps = gettext("sleeve"), gettext("tie rods"), gettext("driven")
    ways = " / ".join(str(label) for _way, label in WAYS)
    flats = gettext("%(side)s: flats, %(ways)s")
    rooms = tuple(flats % {"side": side, "ways": ways} for side in Side.labels)
    return Line(gettext("Pass %(n)s: turned") % {"n": n}, steps, rooms=rooms)


def _pairs():
    """Yield the rooms of one wheel's readings: three pairs of gaps."""
    for k in CAMBER_READINGS:
        yield gettext("top %s") % k
        yield gettext("bottom %s") % k if k == 1 else gettext("bottom %s, ½") % k


def _after(form):
    fields = form.fields
    ended = [fields[name].label for name in ("jam_nuts", "wheel_centred", "driven")]
    yield Line(gettext("At the end"), tuple(ended))
    yield Line(fields["pull"].label, tuple(CamberToeSheet.Pull.labels))
    yield Line(fields["note"].label)
