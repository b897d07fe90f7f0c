"""What a camber and toe sheet must hold before it is judged: pairs, companions, odd figures."""

from django.utils.translation import gettext_lazy as _

from alignment.buttons import ADDED
from alignment.conditions import ALIKE, FLOOR, PLATES
from alignment.models import CamberReading, Side, Turn
from alignment.odd import is_impossible
from alignment.reading_fields import CAMBER_READINGS, GAPS, ROD, SLEEVE, TAPES, TOE_READINGS
from alignment.reading_lines import step_of

STEEPEST = 20  # a fall of one in that many, nearly 3 degrees: judgement, no source

LEFT_OUT = _("This one was left out.")
GAPS_OR_GAUGE = _("Give the gaps or the gauge for one reading, not both.")
NO_HEIGHT = _("Give the height between the two gap points.")
NO_DIAMETER = _("Give the tyre diameter: toe in mm or inches means nothing without it.")
NO_FLOOR = _("Give the low side, the fall and the width of the floor that slopes.")
TOO_STEEP = _("A floor that falls by more than 1 in 20 cannot be right; read both figures again.")
HALF_A_FLOOR = _("Give all three: the low side, the fall and the width; or none of them.")
WHICH_WAY = _("Say which way it was turned: longer or shorter.")
WHICH_SIDE = _("Say to which side the steering wheel stands.")
WHAT_TURNED = _("Say what was turned, and which way.")
NO_STEP = _("Something was turned here: say by which step, a camber sleeve or a tie rod.")
NO_SLEEVE_ACROSS = _("Only a tie rod lies across: a camber sleeve is of one wheel.")
ONE_ROD_OR_TWO = _("Give the one rod across, or those of the sides: a cart has no three.")
NOTHING_READ = _("Nothing was read: give camber left and right, then toe.")
NO_SUCH_TOE = _("Front and rear cannot differ by that much; read both again.")
NO_SUCH_CAMBER = _("No wheel leans that far; read it again.")


def check_fields(form):
    """Put an error on each field that is not right yet; nothing typed is dropped."""
    for n in form.pass_numbers:
        _check_pairs(form, n)
        _check_turned(form, n)
    _check_companions(form)
    _check_wheel(form)
    _check_possible(form)


def check_something_read(form):
    """Object to a sheet that was asked for, or of which something was turned, with no reading."""
    is_wanted = "camber-toe" in form.visit.pieces or form.pass_count > 1
    if is_wanted and not form.errors and not form.lines():
        form.add_error(None, NOTHING_READ)


def _check_pairs(form, n):
    for side in Side.values:
        for k in CAMBER_READINGS:
            gaps = [f"p{n}_{side}_{gap}_{k}" for gap in GAPS]
            gauge = f"p{n}_{side}_gauge_{k}"
            _both_or_none(form, gaps)
            if _given(form, gaps) and form.cleaned_data.get(gauge):
                form.add_error(gauge, GAPS_OR_GAUGE)
    for k in TOE_READINGS:
        _both_or_none(form, [f"p{n}_{end}_{k}" for end in TAPES])


def _given(form, names):
    return [name for name in names if form.cleaned_data.get(name)]


def _both_or_none(form, names):
    given = _given(form, names)
    for name in names:
        if given and name not in given and name not in form.errors:
            form.add_error(name, LEFT_OUT)


def _check_turned(form, n):
    """Object to flats without their way, and to a step that says nothing of what was turned."""
    is_new = form.asked == ADDED and n == form.pass_count
    if is_new or n == 1:
        return
    names = {at: (f"p{n}_{at}_turn", f"p{n}_{at}_way") for at in Turn.At.values}
    said = {at: _given(form, pair) for at, pair in names.items()}
    if step_of(form.cleaned_data, n) in (SLEEVE, ROD):
        _check_ways(form, names.values())
        _check_at(form, n, said)
    elif any(said.values()):
        form.add_error(f"p{n}_left_turn", NO_STEP)


def _check_ways(form, names):
    for turn, way in names:
        if form.cleaned_data.get(turn) and not form.cleaned_data.get(way):
            form.add_error(way, WHICH_WAY)


def _check_at(form, n, said):
    """Object to a step of which nothing was turned, or what no cart has."""
    fields = {f"p{n}_{at}_{what}" for at in said for what in ("turn", "way")}
    if not any(said.values()) and not fields & set(form.errors):
        form.add_error(f"p{n}_left_turn", WHAT_TURNED)
    if said[Turn.At.ACROSS] and step_of(form.cleaned_data, n) == SLEEVE:
        form.add_error(f"p{n}_across_turn", NO_SLEEVE_ACROSS)
    elif said[Turn.At.ACROSS] and (said[Turn.At.LEFT] or said[Turn.At.RIGHT]):
        form.add_error(f"p{n}_across_turn", ONE_ROD_OR_TWO)


def _check_companions(form):
    cleaned = form.cleaned_data
    _need(form, "between", NO_HEIGHT, when=_any(cleaned, GAPS))
    _need(form, "diameter", NO_DIAMETER, when=_any(cleaned, TAPES))
    _check_floor(form, cleaned.get("floor"))


def _check_floor(form, floor):
    """Want the slope whole under level plates; on one plane floor whole or not at all."""
    given = len(_given(form, FLOOR))
    if set(FLOOR) & set(form.errors):
        return
    if given == len(FLOOR):
        _refuse_steep(form)
    elif floor == PLATES:
        form.add_error("floor_low_side", NO_FLOOR)
    elif floor == ALIKE and given:
        form.add_error("floor_low_side", HALF_A_FLOOR)


def _refuse_steep(form):
    fall, over = (form.cleaned_data[name].si for name in ("floor_fall", "floor_over"))
    if fall * STEEPEST > over:
        form.add_error("floor_fall", TOO_STEEP)


def _check_wheel(form):
    off, side = form.cleaned_data.get("wheel_off"), form.cleaned_data.get("wheel_stands")
    if off and off.si and side not in Side.values:
        form.add_error("wheel_stands", WHICH_SIDE)


def _any(cleaned, kinds):
    """Whether any reading of these kinds (gaps or ends) was typed."""
    return any(cleaned[name] for name in cleaned if set(name.split("_")) & set(kinds))


def _need(form, name, message, *, when):
    if when and not form.cleaned_data.get(name) and name not in form.errors:
        form.add_error(name, message)


def _check_possible(form):
    for line in form.lines():
        if is_measured(line) and is_impossible(line):
            is_camber = isinstance(line, CamberReading)
            form.add_error(first_field(line), NO_SUCH_CAMBER if is_camber else NO_SUCH_TOE)


def is_measured(line):
    return not isinstance(line, Turn)


def first_field(line):
    """Return the first field of the pass and the wheel, or the tape, that a line is from."""
    if not isinstance(line, CamberReading):
        return f"p{line.pass_no}_front_1"
    what = "top" if line.gauge_deg is None else "gauge"
    return f"p{line.pass_no}_{line.side}_{what}_1"
