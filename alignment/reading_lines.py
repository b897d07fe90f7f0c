"""What was typed into the passes, as lines of a sheet, in the order of the work."""

from alignment.fields import as_read, si
from alignment.models import CamberReading, Side, Stage, ToeReading, Turn
from alignment.reading_fields import (
    CAMBER_READINGS,
    DRIVE,
    ROD,
    SHORTER,
    SLEEVE,
    TOE_READINGS,
)


def lines_of(cleaned, passes):
    """Return the unsaved lines of the passes: what was turned, camber, then toe."""
    last_sleeve = max((n for n in range(2, passes + 1) if turns(cleaned, n, SLEEVE)), default=0)
    lines = []
    for n in range(1, passes + 1):
        lines += [*turns(cleaned, n, SLEEVE), *turns(cleaned, n, ROD)]
        lines += [line for side in Side.values for line in cambers(cleaned, n, side)]
        lines += toes(cleaned, n, is_void=n < last_sleeve)
    for place, line in enumerate(lines):
        line.place = place
    return lines


def step_of(cleaned, n):
    return cleaned.get(f"p{n}_step") or ""


def drive_pass(cleaned, passes):
    """Return the last pass that was read after a drive; None without one."""
    driven = [n for n in range(2, passes + 1) if step_of(cleaned, n) == DRIVE]
    return driven[-1] if driven else None


def turns(cleaned, n, what):
    """Return what was turned before a pass, if ``what`` is its step."""
    if step_of(cleaned, n) != what:
        return []
    said = {at: (cleaned.get(f"p{n}_{at}_turn"), _way(cleaned, n, at)) for at in Turn.At.values}
    return [
        Turn(pass_no=n, what=what, at=at, longer_flats=_signed(flats, way))
        for at, (flats, way) in said.items()
        if flats or way
    ]


def _way(cleaned, n, at):
    return cleaned.get(f"p{n}_{at}_way") or ""


def _signed(flats, way):
    """Return the flats, plus for longer; None where they were not counted."""
    if not (flats and way):
        return None
    return -flats if way == SHORTER else flats


def cambers(cleaned, n, side):
    """Return one wheel's readings; a square's needs both gaps and the height between."""
    found = []
    for k in CAMBER_READINGS:
        names = {what: f"p{n}_{side}_{what}_{k}" for what in ("top", "bottom", "gauge", "half")}
        said = {what: cleaned.get(name) for what, name in names.items()}
        read = _by_square(said, cleaned.get("between")) or _by_gauge(said["gauge"])
        if read:
            about = {"pass_no": n, "stage": _stage(n), "side": side}
            found.append(CamberReading(**about, **read, half_turn=bool(said["half"])))
    return found


def _by_square(said, between):
    if not (said["top"] and said["bottom"] and between):
        return {}
    return {
        "gap_top_mm": si(said["top"]),
        "gap_top_typed": as_read(said["top"]),
        "gap_bottom_mm": si(said["bottom"]),
        "gap_bottom_typed": as_read(said["bottom"]),
        "between_mm": si(between),
        "between_typed": as_read(between),
    }


def _by_gauge(gauge):
    return {"gauge_deg": si(gauge), "gauge_typed": as_read(gauge)} if gauge else {}


def toes(cleaned, n, *, is_void=False):
    """Return the passes of the tape of one pass of the sheet."""
    pairs = [(cleaned.get(f"p{n}_front_{k}"), cleaned.get(f"p{n}_rear_{k}")) for k in TOE_READINGS]
    return [
        ToeReading(
            pass_no=n,
            stage=_stage(n),
            front_mm=si(front),
            front_typed=as_read(front),
            rear_mm=si(rear),
            rear_typed=as_read(rear),
            before_last_camber_turn=is_void,
        )
        for front, rear in pairs
        if front and rear
    ]


def _stage(n):
    return Stage.FOUND if n == 1 else Stage.LEFT
