"""What a camber and toe sheet must hold before it is taken in: order, pairs, odd figures."""

from django.utils.translation import gettext_lazy as _

from alignment.geometry import camber_deg, toe_mm
from alignment.models import Side, Stage
from alignment.reading_fields import GAPS, READINGS, TAPES
from alignment.reading_lines import cambers, toes

ODD_TOE_MM = 12.7  # half an inch; beyond it a whole inch may have crept in
ODD_CAMBER_DEG = 3
NO_TOE_MM = 150
FLOOR = ("floor_low_side", "floor_fall", "floor_over")

LEFT_OUT = _("This one was left out.")
NO_HEIGHT = _("Give the height between the two gap points.")
NO_DIAMETER = _("Give the tyre diameter: toe in mm or inches means nothing without it.")
NO_FLOOR = _("Give the low side, the fall and the width, or none of them.")
CAMBER_AGAIN = _("Camber was turned here: read it again as left.")
TOE_AGAIN = _("Camber first, then toe: camber was turned, so read toe again after it.")
TOE_TOO_OLD = _(
    "A toe reading taken before the last camber turn is void: read it again, then tick."
)
TOE_AFTER_ROD = _("The tie rod was turned: read toe again as left.")
NOTHING_READ = _("Nothing was read: give camber left and right, then toe.")
ODD = _("Beyond 1/2 in of toe or 3 degrees of camber: read it again, then tick if it stands.")
NO_SUCH_TOE = _("Front and rear cannot differ by that much; read both again.")


def check(form):
    """Put an error on each field that is not right yet; nothing typed is dropped."""
    _check_pairs(form)
    _check_companions(form)
    _check_order(form)
    _check_odd(form)
    _check_something_read(form)


def _check_pairs(form):
    for stage in Stage.values:
        for n in READINGS:
            for side in Side.values:
                _both_or_none(form, [f"{stage}_{side}_{gap}_{n}" for gap in GAPS])
            _both_or_none(form, [f"{stage}_{end}_{n}" for end in TAPES])


def _both_or_none(form, names):
    given = [name for name in names if form.cleaned_data.get(name)]
    for name in names:
        if given and name not in given and name not in form.errors:
            form.add_error(name, LEFT_OUT)


def _check_companions(form):
    cleaned = form.cleaned_data
    _need(form, "between", NO_HEIGHT, when=_any(cleaned, GAPS))
    _need(form, "diameter", NO_DIAMETER, when=_any(cleaned, TAPES))
    given = [bool(cleaned.get(name)) for name in FLOOR]
    if any(given) and not all(given) and not set(FLOOR) & set(form.errors):
        form.add_error("floor_low_side", NO_FLOOR)


def _any(cleaned, kinds):
    """Whether any reading of these kinds (gaps or ends) was typed."""
    return any(cleaned[name] for name in cleaned if set(name.split("_")) & set(kinds))


def _need(form, name, message, *, when):
    if when and not form.cleaned_data.get(name) and name not in form.errors:
        form.add_error(name, message)


def _check_order(form):
    cleaned = form.cleaned_data
    turned = cleaned.get("camber_turned", [])
    for side in turned:
        again = cambers(cleaned, Stage.LEFT, side)
        _refuse_on(
            form, f"left_{side}_top_1", CAMBER_AGAIN, unless=again or "between" in form.errors
        )
    toe_again = toes(cleaned, Stage.LEFT)
    if turned:
        _refuse_on(form, "left_front_1", TOE_AGAIN, unless=toe_again)
        _refuse_on(form, "toe_after_turn", TOE_TOO_OLD, unless=cleaned.get("toe_after_turn"))
    elif cleaned.get("tie_rod_turned"):
        _refuse_on(form, "left_front_1", TOE_AFTER_ROD, unless=toe_again)


def _refuse_on(form, name, message, *, unless):
    if not unless and name not in form.errors:
        form.add_error(name, message)


def _check_odd(form):
    cleaned = form.cleaned_data
    lines = [line for stage in Stage.values for line in toes(cleaned, stage)]
    for line in lines:
        if abs(_toe(line)) > NO_TOE_MM:
            form.add_error(None, NO_SUCH_TOE)
    form.needs_confirmation = _is_odd(cleaned, lines)
    if form.needs_confirmation and not cleaned.get("confirmed"):
        form.add_error("confirmed", ODD)


def _is_odd(cleaned, toe_lines):
    leans = [
        _camber(line)
        for stage in Stage.values
        for side in Side.values
        for line in cambers(cleaned, stage, side)
    ]
    return any(abs(lean) > ODD_CAMBER_DEG for lean in leans) or any(
        abs(_toe(line)) > ODD_TOE_MM for line in toe_lines
    )


def _toe(line):
    return toe_mm(float(line.front_mm), float(line.rear_mm))


def _camber(line):
    if line.gauge_deg is not None:
        return float(line.gauge_deg)
    return camber_deg(float(line.gap_top_mm), float(line.gap_bottom_mm), float(line.between_mm))


def _check_something_read(form):
    cleaned, wanted = form.cleaned_data, "camber-toe" in form.visit.pieces
    read = _any(cleaned, GAPS) or _any(cleaned, TAPES) or _any_gauge(cleaned)
    if not read and not form.errors and (wanted or _anything_done(cleaned)):
        form.add_error(None, NOTHING_READ)


def _any_gauge(cleaned):
    return any(
        cleaned.get(f"{stage}_{side}_gauge") for stage in Stage.values for side in Side.values
    )


def _anything_done(cleaned):
    return bool(cleaned.get("camber_turned") or cleaned.get("tie_rod_turned"))
