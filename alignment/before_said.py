"""How a sheet was measured, in words: conditions with figures, tools, limits. No writes."""

from collections.abc import Iterator

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment import words
from alignment.counting import SIDE_TO_SIDE, TOE
from alignment.geometry import toe_total_deg
from alignment.models import CamberReading, CamberToeSheet
from alignment.readings import Limits
from alignment.signs import signed_deg
from alignment.site_words import Wording
from alignment.use_words import use_said
from shared.units import with_unit

NOT_RECORDED = _("not recorded")
SAME_TYRE_MM = 1.0


def before(fact: CamberToeSheet) -> Iterator[tuple[str, str]]:
    """Yield (what, as recorded) of all that is looked to before measuring."""
    yield gettext("Seen to"), _seen_to(fact) or str(NOT_RECORDED)
    if fact.not_ready:
        yield gettext("Not recorded"), "; ".join(map(str, fact.not_ready))
    yield gettext("Tyre pressures, cold"), _pressures(fact) or _pressed(fact)
    yield gettext("Floor"), _floor(fact)
    yield gettext("Use since the fitting"), _use(fact)
    if fact.after_kerb_hit:
        yield gettext("Before it"), gettext("a kerb or a pothole was hit")
    if fact.camber_adjusts:
        yield gettext("Camber is adjusted"), fact.get_camber_adjusts_display()


def _seen_to(fact):
    named = (fact._meta.get_field(name).verbose_name for name in fact.READY if getattr(fact, name))
    return "; ".join(map(str, named))


def _pressures(fact):
    told = (
        (gettext("set to %s"), fact.pressure_set_typed, fact.pressure_set_kpa),
        (gettext("left %s"), fact.pressure_left_typed, fact.pressure_left_kpa),
        (gettext("right %s"), fact.pressure_right_typed, fact.pressure_right_kpa),
    )
    return ", ".join(said % with_unit(typed, "pressure", kpa) for said, typed, kpa in told if typed)


def _pressed(fact):
    """Return what a sheet says of pressures that were not asked as figures."""
    return gettext("equal, no figures recorded") if fact.pressures_equal else str(NOT_RECORDED)


def _floor(fact):
    fall = _fall(fact) if fact.floor_low_side else ""
    if fact.floor_plates is False:
        alike = gettext("cart and square stood on it alike, nothing taken out")
        return "; ".join([fall or gettext("slopes"), alike])
    if fall:
        on = [gettext("the wheels on level plates")] if fact.floor_plates else []
        return "; ".join([fall, *on, gettext("taken out of the camber")])
    return gettext("measured: level") if fact.floor_level else str(NOT_RECORDED)


def _fall(fact):
    return gettext("falls %(fall)s over %(over)s to the %(side)s") % {
        "fall": with_unit(fact.floor_fall_typed, "length", fact.floor_fall_mm),
        "over": with_unit(fact.floor_over_typed, "length", fact.floor_over_mm),
        "side": fact.get_floor_low_side_display(),
    }


def _use(fact):
    use = use_said(fact.use_hours, fact.use_km, str(fact.site.units))
    if not use:
        return str(NOT_RECORDED)
    said = gettext("%s: settled") if fact.is_settled else gettext("%s: not settled, provisional")
    return said % use


def tools(fact: CamberToeSheet, lines) -> Iterator[tuple[str, str]]:
    """Yield (what, as recorded) of tape, square and gauge, and where toe was taken."""
    yield gettext("Smallest mark of tape and square"), fact.mark_typed
    cambers = [line for line in lines if isinstance(line, CamberReading)]
    if any(line.gauge_deg is not None for line in cambers):
        yield gettext("Smallest mark of the gauge"), f"{float(fact.gauge_mark_deg):g}°"
    taken_at = with_unit(fact.diameter_typed, "length", fact.diameter_mm)
    yield gettext("Toe taken at"), taken_at or str(NOT_RECORDED)


def limits(held: Limits, fact: CamberToeSheet, wording: Wording) -> Iterator[tuple[str, str]]:
    """Yield (what, between which limits) as of that day, and where they come from."""
    low, high = (signed_deg(deg) for deg in _cambers(held))
    yield gettext("Camber"), gettext("%(low)s to %(high)s") % {"low": low, "high": high}
    apart = f"{held.side_to_side_deg:.2f}°"
    yield words.begun(str(words.NAMES[SIDE_TO_SIDE])), gettext("up to %s either way") % apart
    low, high = (wording.figure(TOE, mm) for mm in (held.toe_low_mm, held.toe_high_mm))
    yield gettext("Toe"), gettext("%(low)s to %(high)s") % {"low": low, "high": high}
    yield gettext("Limits from"), fact.limits_from or gettext("common practice, no source")


def _cambers(held):
    return held.camber_low_deg, held.camber_high_deg


def ended(fact: CamberToeSheet, sheet) -> Iterator[tuple[str, str]]:
    """Yield (what, as recorded) of the drive and what was seen to at the end."""
    yield gettext("Driven"), _driven(fact, sheet)
    if fact.pull:
        yield gettext("On the drive"), fact.get_pull_display()
    if fact.jam_nuts is not None:
        yield gettext("Jam nuts"), _yes(fact.jam_nuts, gettext("tight"))
    if fact.wheel_centred is not None:
        yield gettext("Steering wheel"), _yes(fact.wheel_centred, gettext("centred"))
    if fact.asked_for_more:
        yield gettext("More readings"), gettext("were asked for once")
    if fact.confirmed:
        yield gettext("Odd reading"), gettext("confirmed by who read it, with a photo")


def _driven(fact, sheet):
    if sheet.drive_pass is not None:
        said = gettext("before pass %s, both read again") % sheet.drive_pass
        return said if fact.driven else said + "; " + gettext("turned again after it")
    return gettext("yes") if fact.driven else str(NOT_RECORDED)


def _yes(is_so, word):
    return word if is_so else str(NOT_RECORDED)


def same_toe_today(sheet, result, cart, wording: Wording) -> str:
    """Return what the same inches of toe are on the cart's tyres of today; empty if no others."""
    today_mm = cart.tyre_mm
    if not (result and today_mm and sheet.diameter_mm) or _alike(today_mm, sheet.diameter_mm):
        return ""
    said = gettext("The same length on the cart’s tyres of today, %(tyre)s: %(angle)s in all.")
    angle = signed_deg(toe_total_deg(result.value, float(today_mm)))
    return said % {"tyre": wording.diameter(float(today_mm)), "angle": angle}


def _alike(one_mm, other_mm):
    return abs(float(one_mm) - other_mm) < SAME_TYRE_MM
