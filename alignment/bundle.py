"""A sheet as rows for the bundle: what it proves, then each reading as it was read."""

from alignment import words
from alignment.bundle_passes import camber_typed, conditions, passed, proved, toe_typed
from alignment.counting import is_void
from alignment.models import CamberReading
from alignment.sheets import judged, reading_of, sheet_of


def rows_of(fact, lines, part_code):
    """Return the rows of one sheet, each with the keys round, part, item, found, detail."""
    told = _before_passes if fact.passes is None else _by_passes
    said = told(fact, sheet_of(fact, lines), lines)
    about = {"round": str(fact.round_id), "part": part_code}
    return [
        {**about, "item": item, "found": found, "detail": detail} for item, found, detail in said
    ]


def _by_passes(fact, sheet, lines):
    final = judged(fact, lines)
    return [*proved(fact, final), *conditions(fact), *passed(fact, sheet, lines)]


def _before_passes(fact, sheet, lines):
    """Return what an entry of before passes were asked always said."""
    final = judged(fact, lines)
    return [*_proved(final), *_done(fact), *(_read(sheet, line) for line in lines)]


def _proved(final):
    for name, result in final.results.items():
        figure = words.figure(name, result.value)
        yield name, result.verdict, f"{figure} {words.spread(name, result.expanded)}"
    for name in final.missing:
        yield name, "not measured", ""


def _done(fact):
    if fact.diameter_mm is not None:
        yield "toe taken at", fact.diameter_typed, f"{fact.diameter_mm} mm"
    yield "smallest mark", fact.mark_typed, f"{fact.mark_mm} mm"
    if fact.floor_low_side:
        yield (
            "floor low",
            fact.floor_low_side,
            f"{fact.floor_fall_typed} over {fact.floor_over_typed}",
        )
    for name in ("camber_turned_left", "camber_turned_right", "tie_rod_turned", "driven"):
        yield name.replace("_", " "), "yes" if getattr(fact, name) else "no", ""
    for name in fact.READY:
        yield name.replace("_", " "), "yes" if getattr(fact, name) else "not recorded", ""


def _read(sheet, line):
    is_camber = isinstance(line, CamberReading)
    name = f"camber {line.side}" if is_camber else "toe"
    reading = reading_of(line)
    figure = words.figure(name, reading.deg if is_camber else reading.mm)
    detail = camber_typed(line) if is_camber else toe_typed(line)
    void = "; void" if _is_void(sheet, line) else ""
    return f"{name} reading as {line.stage}", figure, detail + void


def _is_void(sheet, line):
    if isinstance(line, CamberReading):
        return is_void(sheet, reading_of(line))
    return line.before_last_camber_turn
