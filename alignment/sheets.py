"""A recorded camber and toe sheet, as the pure modules take it, and back to what it means."""

from alignment.judging import judge
from alignment.models import CamberReading, Side, Stage, ToeReading
from alignment.models import Turn as TurnLine
from alignment.readings import ROD, SIDES, SLEEVE, Camber, Limits, Sheet, Toe, Turn

FOUND_PASS, LEFT_PASS = 1, 2


def sheet_of(fact, lines) -> Sheet:
    """Return the recorded sheet with its readings and turns as numbers."""
    return Sheet(
        mark_mm=float(fact.mark_mm),
        gauge_mark_deg=float(fact.gauge_mark_deg or Sheet.gauge_mark_deg),
        cambers=[_camber(line) for line in lines if isinstance(line, CamberReading)],
        toes=[_toe(line) for line in lines if isinstance(line, ToeReading)],
        turns=list(_turns_before_passes(fact)) if fact.passes is None else _turns(lines),
        drive_pass=fact.drive_pass,
        floor=_floor(fact),
        diameter_mm=_number(fact.diameter_mm),
        limits=_limits(fact),
    )


def judged(fact, lines):
    return judge(sheet_of(fact, lines))


def reading_of(line) -> Camber | Toe:
    """Return one line as numbers."""
    return _camber(line) if isinstance(line, CamberReading) else _toe(line)


def pass_of(line) -> int:
    """Return the pass a reading is of; one of before passes were asked has a stage alone."""
    if line.pass_no is not None:
        return line.pass_no
    return FOUND_PASS if line.stage == Stage.FOUND else LEFT_PASS


def _turns(lines):
    return [
        Turn(str(line.what), str(line.at), line.pass_no, _number(line.longer_flats))
        for line in lines
        if isinstance(line, TurnLine)
    ]


def _turns_before_passes(fact):
    """Yield what an entry of before passes were asked says was turned, uncounted."""
    for side in Side.values:
        if getattr(fact, f"camber_turned_{side}"):
            yield Turn(SLEEVE, side, LEFT_PASS)
    if fact.tie_rod_turned:
        yield from (Turn(ROD, side, LEFT_PASS) for side in SIDES)


def _camber(line):
    return Camber(
        side=str(line.side),
        pass_no=pass_of(line),
        gap_top_mm=_number(line.gap_top_mm),
        gap_bottom_mm=_number(line.gap_bottom_mm),
        between_mm=_number(line.between_mm),
        gauge_deg=_number(line.gauge_deg),
        half_turn=bool(line.half_turn),
    )


def _toe(line):
    return Toe(
        front_mm=float(line.front_mm),
        rear_mm=float(line.rear_mm),
        pass_no=pass_of(line),
        is_void=line.before_last_camber_turn,
    )


def _floor(fact):
    # cart and square on one plane floor lean alike
    if fact.floor_plates is False or not fact.floor_low_side:
        return None
    return float(fact.floor_fall_mm), float(fact.floor_over_mm), str(fact.floor_low_side)


def _limits(fact):
    return Limits(
        camber_low_deg=float(fact.camber_low_deg),
        camber_high_deg=float(fact.camber_high_deg),
        side_to_side_deg=float(fact.side_to_side_deg),
        toe_low_mm=float(fact.toe_low_mm),
        toe_high_mm=float(fact.toe_high_mm),
    )


def _number(decimal):
    return None if decimal is None else float(decimal)
