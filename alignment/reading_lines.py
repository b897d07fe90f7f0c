"""What was typed into the reading fields, as lines of a sheet, in the order of the work."""

from alignment.fields import as_read, si
from alignment.models import CamberReading, Side, Stage, ToeReading
from alignment.reading_fields import READINGS


def lines_of(cleaned):
    """Return the unsaved lines of a valid form: found, then left; camber before toe."""
    turned = bool(cleaned["camber_turned"])
    lines = []
    for stage in Stage.values:
        lines += [line for side in Side.values for line in cambers(cleaned, stage, side)]
        lines += toes(cleaned, stage, is_void=turned and stage == Stage.FOUND)
    for place, line in enumerate(lines):
        line.place = place
    return lines


def cambers(cleaned, stage, side):
    """Return one wheel's readings; a square's needs both gaps and the height between."""
    between = cleaned.get("between")
    lines = []
    for n in READINGS:
        top = cleaned.get(f"{stage}_{side}_top_{n}")
        bottom = cleaned.get(f"{stage}_{side}_bottom_{n}")
        if top and bottom and between:
            lines.append(_by_square(stage, side, top, bottom, between))
    gauge = cleaned.get(f"{stage}_{side}_gauge")
    if gauge:
        lines.append(
            CamberReading(stage=stage, side=side, gauge_deg=si(gauge), gauge_typed=as_read(gauge))
        )
    return lines


def _by_square(stage, side, top, bottom, between):
    return CamberReading(
        stage=stage,
        side=side,
        gap_top_mm=si(top),
        gap_top_typed=as_read(top),
        gap_bottom_mm=si(bottom),
        gap_bottom_typed=as_read(bottom),
        between_mm=si(between),
        between_typed=as_read(between),
    )


def toes(cleaned, stage, *, is_void=False):
    pairs = [
        (cleaned.get(f"{stage}_front_{n}"), cleaned.get(f"{stage}_rear_{n}")) for n in READINGS
    ]
    return [
        ToeReading(
            stage=stage,
            front_mm=si(front),
            front_typed=as_read(front),
            rear_mm=si(rear),
            rear_typed=as_read(rear),
            before_last_camber_turn=is_void,
        )
        for front, rear in pairs
        if front and rear
    ]
