"""The demo's fitting records: what was measured and used when each kit was put on.

Drawn from the cart's number, so that the same carts are out of the ordinary every day.
"""

from datetime import date
from decimal import Decimal

from deploy.demo.answers import INCH_MM, measure
from deploy.demo.carts import BIG_TYRE_MM, STANDARD_TYRE_MM
from deploy.demo.kits import KITS
from lifts.fitting_lengths import LENGTHS
from lifts.models import FittingLength
from lifts.parts.base import numbered

UNEVEN, U_BOLTS_USED_AGAIN = "126", "146"
TAPER_EVERY = 5  # each fifth cart has old taper hubs
SMALL_TYRE, BIG_TYRE = ("18x8.5-8", STANDARD_TYRE_MM), ("22x11-10", BIG_TYRE_MM)
SAG_MM = Decimal(20)  # uneven: one spring left as it was
BLOCKED_REARS = {"block"}
HEIGHTS_MM = {"ride_lf": 330, "ride_rf": 330, "ride_lr": 356, "ride_rr": 356}
TRACKS_MM = {"track_front": 864, "track_rear": 965}


def about(cart, by, handed_to) -> dict:
    """Return a fitting's own values."""
    before, after = (
        tyres_on(cart, cart.fitted_day, is_after=is_after) for is_after in (False, True)
    )
    return {
        "fitted_by": by.name,
        "firm": "own shop",
        "paperwork": "full",
        "competence": "shown by the kit's maker, two days",
        "tyre_before": before[0],
        "tyre_before_mm": before[1],
        "tyre_after": after[0],
        "tyre_after_mm": after[1],
        "hub_bearing": hub_bearing(cart),
        "lug_seat": "cone 60",
        "locker_used": "medium, front frame bolts",
        "brake_tensioned": True,
        "clear_at_lock": True,
        "handed_to": handed_to.name,
        "label_batch": label_batch(cart.fitted_day),
        **_rise(cart),
        **_u_bolts(cart),
        **_blocks(cart),
    }


def tyres_on(cart, day, *, is_after=True):
    """Return code and diameter of the tyres on a cart at the end of a day, or before it."""
    changed = cart.big_tyres_day
    is_big = changed is not None and (changed <= day if is_after else changed < day)
    return BIG_TYRE if is_big else SMALL_TYRE


def hub_bearing(cart):
    return "sealed" if int(cart.number) % TAPER_EVERY else "taper"


def label_batch(day: date):
    return f"L-{day:%y}"


def u_bolt_batch(cart):
    """Return the batch of a cart's U-bolts: one box lasts two months at a place."""
    day = cart.fitted_day
    return f"UB-{cart.place.values['slug'][0].upper()}{day:%y}{(day.month + 1) // 2}"


def _kit(cart):
    return next(kit for kit in KITS if kit.code == cart.kit_code)


def _rise(cart):
    typed = length(cart, Decimal(_kit(cart).rise_mm))
    mm = measure(typed, "length").si
    ends = ("rise_front", "rise_rear")
    return {f"{end}_typed": typed for end in ends} | {f"{end}_mm": mm for end in ends}


def _u_bolts(cart):
    return {
        "u_bolts_new": cart.number != U_BOLTS_USED_AGAIN,
        "u_bolt_thread": "M10",
        "u_bolts_a_side": 2,
        "u_bolt_grade": "8.8",
        "u_bolt_batch": u_bolt_batch(cart),
    }


def _blocks(cart):
    if _kit(cart).rear not in BLOCKED_REARS:
        return {}
    return {"block_taper": "2°, thick end to the front", "block_why": "as the kit's sheet draws it"}


def lengths(cart) -> list[FittingLength]:
    """Return the unsaved lengths of a fitting, as measured before and after."""
    rise = Decimal(_kit(cart).rise_mm)
    tyre = (tyres_on(cart, cart.fitted_day)[1] - STANDARD_TYRE_MM) / 2
    pairs = {name: (Decimal(mm), mm + rise + tyre) for name, mm in HEIGHTS_MM.items()}
    if cart.number == UNEVEN:
        pairs["ride_lr"] = (pairs["ride_lr"][0], pairs["ride_lr"][1] - SAG_MM)
    pairs |= {name: (Decimal(mm), Decimal(mm) + 76) for name, mm in TRACKS_MM.items()}
    pairs["brake_travel"] = (Decimal(38), Decimal(32))
    pairs["wheel_offset"] = (Decimal(25), Decimal(13))
    if _kit(cart).rear in BLOCKED_REARS:
        pairs |= dict.fromkeys(("block_left", "block_right"), (None, rise))
    return numbered([_line(cart, one, *pairs[one.name]) for one in LENGTHS if one.name in pairs])


def _line(cart, one, before_mm, after_mm):
    line = FittingLength(what=one.what, where=one.where)
    for name, mm in (("before", before_mm), ("after", after_mm)):
        if mm is not None:
            typed = length(cart, mm)
            setattr(line, f"{name}_typed", typed)
            setattr(line, f"{name}_mm", measure(typed, "length").si)
    return line


def length(cart, mm: Decimal) -> str:
    """Return a length as a mechanic of the cart's place reads it off: to 1/4 in, or to 1 mm."""
    if cart.place.values["units"] == "metric":
        return f"{round(mm)} mm"
    quarters = round(mm / INCH_MM * 4)
    whole, part = divmod(quarters, 4)
    said = (str(whole) if whole else "", ("", "1/4", "1/2", "3/4")[part], "in")
    return " ".join(word for word in said if word)
