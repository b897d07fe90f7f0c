"""What a sheet says pass by pass, as rows for the bundle: (item, found, detail)."""

from alignment import words
from alignment.counting import is_void, name_of
from alignment.models import CamberAdjusts, CamberReading, Turn
from alignment.sheets import reading_of
from fleet.bundle.cells import text_of

NOT_RECORDED, NOT_MEASURED = "not recorded", "not measured"
ADJUSTS = {CamberAdjusts.SLEEVE: "by a sleeve", CamberAdjusts.NOT: "not adjustable"}
PULLS = {"none": "runs straight", "left": "pulls to the left", "right": "pulls to the right"}


def proved(fact, final):
    """Yield what the readings that count prove, and the limits that it is held against."""
    for name, result in final.results.items():
        figure = f"{words.figure(name, result.value)} {words.spread(name, result.expanded)}"
        known = (words.probability(result), _readings(result.count), words.freedom(result))
        yield name, result.verdict, "; ".join([figure, *filter(None, known)])
    for name in final.missing:
        yield name, NOT_MEASURED, ""
    yield "limits", fact.limits_from or NOT_RECORDED, _limits(fact)


def _readings(count):
    return f"{count} reading" if count == 1 else f"{count} readings"


def _limits(fact):
    camber, toe = (
        " to ".join(_signed(getattr(fact, f"{name}_{end}_{unit}")) for end in ("low", "high"))
        for name, unit in (("camber", "deg"), ("toe", "mm"))
    )
    apart = text_of(fact.side_to_side_deg)
    return f"camber {camber} degrees; side to side {apart} degrees; toe {toe} mm"


def _signed(figure):
    return f"+{text_of(figure)}" if figure > 0 else text_of(figure)


def conditions(fact):
    """Yield what held before measuring and after it, each as recorded or not recorded."""
    yield "passes", str(fact.passes), ""
    yield "smallest mark", fact.mark_typed, f"{text_of(fact.mark_mm)} mm"
    if fact.diameter_mm is not None:
        yield "toe taken at", fact.diameter_typed, f"{text_of(fact.diameter_mm)} mm"
    for name in fact.READY:
        yield name.replace("_", " "), "yes" if getattr(fact, name) else NOT_RECORDED, ""
    yield from _pressures(fact)
    yield from _floor(fact)
    yield "use since the fitting", _settled(fact), _use(fact)
    yield "after a kerb hit", _yes_no(fact.after_kerb_hit), ""
    yield "camber adjusts", ADJUSTS.get(fact.camber_adjusts, NOT_RECORDED), ""
    yield "jam nuts tight again", _yes_no(fact.jam_nuts), ""
    yield "steering wheel centred", _yes_no(fact.wheel_centred), ""
    yield "driven", _yes_no(fact.driven), _pass(fact.drive_pass)
    yield "hands off", PULLS.get(fact.pull, NOT_RECORDED), ""
    yield "asked for more readings", _yes_no(fact.asked_for_more), ""
    if fact.confirmed:
        yield "odd reading confirmed", "yes", ""


def _pressures(fact):
    for which in ("set", "left", "right"):
        typed, kpa = (getattr(fact, f"pressure_{which}_{unit}") for unit in ("typed", "kpa"))
        if typed:
            yield f"tyre pressure {which}", typed, f"{text_of(kpa)} kPa"


def _floor(fact):
    fall = f"{fact.floor_fall_typed} over {fact.floor_over_typed}" if fact.floor_low_side else ""
    if fact.floor_plates is False:
        low = f"low {fact.floor_low_side}; {fall}" if fall else ""
        yield "floor", "slopes under cart and square alike", low
    elif fall:
        on = "; wheels on level plates" if fact.floor_plates else ""
        yield "floor low", fact.floor_low_side, f"{fall}{on}"
    elif fact.floor_level:
        yield "floor", "level", ""
    else:
        yield "floor", NOT_RECORDED, ""


def _settled(fact):
    if fact.is_settled is None:
        return NOT_RECORDED
    return "settled" if fact.is_settled else "provisional: not settled yet"


def _use(fact):
    return "; ".join(
        f"{text_of(figure)} {unit}"
        for figure, unit in ((fact.use_hours, "h"), (fact.use_km, "km"))
        if figure is not None
    )


def _yes_no(value):
    return NOT_RECORDED if value is None else "yes" if value else "no"


def _pass(number):
    return "" if number is None else f"pass {number}"


def passed(fact, sheet, lines):
    """Yield each pass in its order: what was turned or that it was driven, then its readings."""
    for number in range(1, fact.passes + 1):
        here = [line for line in lines if line.pass_no == number]
        if number == fact.drive_pass:
            yield f"before pass {number}", "driven", ""
        yield from (_turned(line) for line in here if isinstance(line, Turn))
        yield from (_read(sheet, line) for line in here if not isinstance(line, Turn))


def _turned(turn):
    what = "camber sleeve" if turn.what == Turn.What.SLEEVE else "tie rod"
    told = [_changed(turn, *kind) for kind in (("by formula", "formula"), ("to give", "predicted"))]
    return (
        f"before pass {turn.pass_no}: {what} {turn.at}",
        _flats(turn),
        "; ".join(filter(None, told)),
    )


def _flats(turn):
    if turn.longer_flats is None:
        return "turned, not counted"
    flats = text_of(abs(turn.longer_flats))
    way = "longer" if turn.longer_flats > 0 else "shorter"
    return f"{flats} flat {way}" if flats == "1" else f"{flats} flats {way}"


def _changed(turn, said, kind):
    for name, value in (("camber", f"{kind}_deg"), ("toe", f"{kind}_mm")):
        if getattr(turn, value) is not None:
            return f"{said} {words.figure(name, float(getattr(turn, value)))}"
    return ""


def _read(sheet, line):
    reading = reading_of(line)
    is_camber = isinstance(line, CamberReading)
    figure = words.figure(name_of(reading), reading.deg if is_camber else reading.mm)
    said = [camber_typed(line) if is_camber else toe_typed(line)]
    said += ["after half a turn"] if is_camber and line.half_turn else []
    said += ["void"] if is_void(sheet, reading) else []
    return f"pass {line.pass_no}: {name_of(reading)}", figure, "; ".join(said)


def camber_typed(line):
    if line.gauge_deg is not None:
        return f"gauge {line.gauge_typed}"
    typed = (line.gap_top_typed, line.gap_bottom_typed, line.between_typed)
    return "top {}; bottom {}; between {}".format(*typed)


def toe_typed(line):
    return f"front {line.front_typed}; rear {line.rear_typed}"
