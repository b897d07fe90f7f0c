"""What a filled form amounts to as the fields of a CamberToeSheet."""

from dataclasses import asdict
from decimal import Decimal

from alignment.conditions import condition_values
from alignment.fields import as_read, si
from alignment.models import CamberToeSheet, Side, Turn
from alignment.reading_lines import drive_pass
from alignment.sheets import sheet_of
from shared.units import read_quantity

USUAL_GAUGE_MARK_DEG = Decimal("0.1")
JAM_NUTS_TIGHT = "tight"
TWO_PLACES = Decimal("0.01")


def sheet_values(form):
    """Return {field: value}; the form's own fields must be right."""
    cleaned, lines = form.cleaned_data, form.lines()
    return {
        **condition_values(cleaned),
        **_measures(cleaned),
        **_turned(lines),
        **_driven(cleaned, lines, form.pass_count),
        **known_values(form.known),
        **{name: cleaned[name] for name in ("pull", "note", "wheel_centred")},
        "jam_nuts": cleaned["jam_nuts"] == JAM_NUTS_TIGHT if cleaned["jam_nuts"] else None,
        "passes": form.pass_count,
        "gauge_mark_deg": Decimal(cleaned["gauge_mark"] or USUAL_GAUGE_MARK_DEG),
        "confirmed": bool(form.odd) and cleaned["confirmed"],
        "asked_for_more": form.asks_for_more or bool(cleaned.get("more_asked")),
    }


def sheet_so_far(form):
    """Return the numbers of what was typed, as alignment.readings.Sheet."""
    return sheet_of(fact_so_far(form), form.lines())


def fact_so_far(form):
    """Return what was typed as an unsaved CamberToeSheet."""
    return CamberToeSheet(**sheet_values(form))


def _measures(cleaned):
    mark, diameter = read_quantity(cleaned["mark"], "length", "mm"), cleaned["diameter"]
    return {
        "mark_mm": si(mark),
        "mark_typed": as_read(mark),
        "diameter_mm": si(diameter),
        "diameter_typed": as_read(diameter),
    }


def _turned(lines):
    turns = [line for line in lines if isinstance(line, Turn)]
    sleeves = {turn.at for turn in turns if turn.what == Turn.What.SLEEVE}
    return {
        **{f"camber_turned_{side}": side in sleeves for side in Side.values},
        "tie_rod_turned": any(turn.what == Turn.What.ROD for turn in turns),
    }


def _driven(cleaned, lines, passes):
    """Return the last drive, and whether nothing was turned after it."""
    drive = drive_pass(cleaned, passes)
    last_turn = max((line.pass_no for line in lines if isinstance(line, Turn)), default=0)
    driven = last_turn < drive if drive else bool(cleaned["driven"]) and not last_turn
    return {"drive_pass": drive, "driven": driven}


def known_values(known):
    """Return {field: value} of what is copied in of the cart: its limits, its use since fitting."""
    use, figures = known.use, known.figures
    limits = {name: Decimal(str(value)) for name, value in asdict(figures.limits).items()}
    return {
        **limits,
        "limits_from": figures.limits_from,
        "spec": figures.spec,
        "use_hours": _two_places(use and use.hours),
        "use_km": _two_places(use and use.km),
        "is_settled": use and use.is_settled,
    }


def _two_places(figure):
    return None if figure is None else figure.quantize(TWO_PLACES)
