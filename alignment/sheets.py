"""A recorded camber and toe sheet, as the pure modules take it, and back to what it means."""

from alignment.judging import Camber, Limits, Sheet, Toe, judge
from alignment.models import CamberReading, Side, ToeReading


def sheet_of(fact, lines) -> Sheet:
    """Return the recorded sheet with its readings as numbers."""
    return Sheet(
        mark_mm=float(fact.mark_mm),
        gauge_mark_deg=float(fact.gauge_mark_deg or Sheet.gauge_mark_deg),
        cambers=[reading_of(line) for line in lines if isinstance(line, CamberReading)],
        toes=[reading_of(line) for line in lines if isinstance(line, ToeReading)],
        floor=_floor(fact),
        camber_turned=frozenset(
            side for side in Side.values if getattr(fact, f"camber_turned_{side}")
        ),
        tie_rod_turned=fact.tie_rod_turned,
        limits=_limits(fact),
    )


def judged(fact, lines):
    return judge(sheet_of(fact, lines))


def reading_of(line) -> Camber | Toe:
    """Return one line as numbers."""
    return _camber(line) if isinstance(line, CamberReading) else _toe(line)


def _camber(line):
    return Camber(
        stage=line.stage,
        side=line.side,
        gap_top_mm=_number(line.gap_top_mm),
        gap_bottom_mm=_number(line.gap_bottom_mm),
        between_mm=_number(line.between_mm),
        gauge_deg=_number(line.gauge_deg),
    )


def _toe(line):
    return Toe(
        stage=line.stage,
        front_mm=float(line.front_mm),
        rear_mm=float(line.rear_mm),
        is_void=line.before_last_camber_turn,
    )


def _floor(fact):
    if not fact.floor_low_side:
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
