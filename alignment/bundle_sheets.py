"""The bundle's table of camber and toe sheets: what held, how it was read, what was turned."""

from django.utils.translation import gettext_lazy as _

from alignment.bundle_told import last_sheet, told_sheets
from alignment.counting import is_void
from alignment.models import Turn
from alignment.parts import CamberToePart
from alignment.sheets import judged, reading_of, sheet_of
from alignment.uncertainty import OUTSIDE
from fleet.bundle.columns import YES_NO, Column, number
from fleet.bundle.figure import Figure
from fleet.bundle.shapes import fact_table, said
from shared.models import Photo


def sheet_rows(batch):
    told = told_sheets(batch)
    photos = _tape_photos(batch.scope, [one.fact.pk for one in told])
    for one in told:
        cells = {"is_last": one.is_last, "tape_photo": photos.get(one.fact.pk, "")}
        yield one.cart, one.fact, {**cells, **_comes_to(one.fact, one.lines)}


def _tape_photos(scope, sheets):
    photos = scope.standing(Photo).filter(about__in=sheets, shows=Photo.Shows.TAPE)
    return dict(photos.values_list("about", "copy_sha256"))


def _comes_to(fact, lines):
    sheet = sheet_of(fact, lines)
    read = [reading_of(line) for line in lines if not isinstance(line, Turn)]
    return {
        "readings": len(read),
        "void_readings": sum(is_void(sheet, reading) for reading in read),
        "turns": len(lines) - len(read),
        "verdict": judged(fact, lines).verdict,
    }


LATER = _("empty: not asked yet")
OF_READY = (
    said("pressures_equal", _("tyre pressures equal, cold"), YES_NO),
    said("tyres_alike", _("same tyres, worn alike"), YES_NO),
    said("rolled_forward", _("rolled forward 10 ft, not back"), YES_NO),
    said("steering_centred", _("wheels straight, steering wheel centred and held"), YES_NO),
    said("usual_load", _("usual load on the seat"), YES_NO),
    said("no_play", _("no play in tie rods, king-pins, hubs"), YES_NO),
    said("lugs_first", _("lugs checked first"), YES_NO),
    said("pressure_set_typed", _("tyre pressure it was set to, as typed")),
    said("pressure_set_kpa", _("tyre pressure it was set to"), "kPa", numeric=True),
    said("pressure_left_typed", _("pressure read on the left, as typed")),
    said("pressure_left_kpa", _("pressure read on the left"), "kPa", numeric=True),
    said("pressure_right_typed", _("pressure read on the right, as typed")),
    said("pressure_right_kpa", _("pressure read on the right"), "kPa", numeric=True),
    said("floor_level", _("the floor was level; empty: not said, or it slopes"), YES_NO),
    said("floor_low_side", _("side on which the floor lies lower")),
    said("floor_fall_typed", _("how much lower, as typed")),
    said("floor_fall_mm", _("how much lower"), "mm", numeric=True),
    said("floor_over_typed", _("over which width, as typed")),
    said("floor_over_mm", _("over which width"), "mm", numeric=True),
    said("floor_plates", _("wheels level on plates; no: on the slope with the square"), YES_NO),
    said("use_hours", _("hours run since the lift was fitted"), "h", numeric=True),
    said("use_km", _("distance run since the lift was fitted"), "km", numeric=True),
    said("is_settled", _("the lift had settled; no: the figures are provisional"), YES_NO),
    said("after_kerb_hit", _("measured after a kerb hit; empty: not asked yet"), YES_NO),
)
OF_READING = (
    said(
        "passes", _("passes: as found, then one for each step; empty: not asked yet"), numeric=True
    ),
    said("mark_typed", _("smallest mark of the tape, as typed")),
    said("mark_mm", _("smallest mark of the tape"), "mm", numeric=True),
    said("gauge_mark_deg", _("smallest step of the gauge"), "°", numeric=True),
    said("diameter_typed", _("tyre diameter at which toe was read, as typed")),
    said("diameter_mm", _("tyre diameter at which toe was read"), "mm", numeric=True),
    number("readings", _("readings; see alignment_readings.csv")),
    number("void_readings", _("computed: of them, void since something was turned or driven")),
)
OF_STEPS = (
    said("camber_adjusts", _("sleeve, or not adjustable; empty: not said, or not asked yet")),
    said("camber_turned_left", _("the left camber sleeve was turned"), YES_NO),
    said("camber_turned_right", _("the right camber sleeve was turned"), YES_NO),
    said("tie_rod_turned", _("a tie rod was turned"), YES_NO),
    number("turns", _("turns told one by one; see alignment_turns.csv")),
    said("driven", _("driven, and nothing turned after it"), YES_NO),
    said("drive_pass", _("pass read after the drive; empty: none, or not asked yet"), numeric=True),
    said("jam_nuts", _("jam nuts tight again; empty: not asked yet"), YES_NO),
    said("wheel_centred", _("steering wheel centred at the end; empty: not asked yet"), YES_NO),
    said("pull", _("hands off: none, left or right; empty: not tried")),
    said("confirmed", _("an odd reading was read twice and stands"), YES_NO),
    Column("tape_photo", _("photo of that reading: SHA-256 that names it in photos/")),
    said("asked_for_more", _("it was asked for more readings; empty: not asked yet"), YES_NO),
)
OF_LIMITS = (
    said("limits_from", _("where its limits are from; empty: not asked yet")),
    said("spec", _("the figures in force then; see alignment_figures.csv; empty: none told")),
    said("camber_low_deg", _("lower limit of camber"), "°", numeric=True),
    said("camber_high_deg", _("upper limit of camber"), "°", numeric=True),
    said("side_to_side_deg", _("how far both cambers may differ"), "°", numeric=True),
    said("toe_low_mm", _("lower limit of toe"), "mm", numeric=True),
    said("toe_high_mm", _("upper limit of toe"), "mm", numeric=True),
)
SHEETS = fact_table(
    "alignment_sheets.csv",
    _("each camber and toe sheet: what held before, how it was read, its steps, its limits"),
    said("sheet", _("the camber and toe sheet"), field="id"),
    (
        said("round", _("the round; see rounds.csv")),
        *OF_READING,
        *OF_READY,
        *OF_STEPS,
        *OF_LIMITS,
        Column("verdict", _("computed: the worst of its results; see alignments.csv")),
        Column("is_last", _("computed: the last sheet of the cart as of the day"), YES_NO),
        said("note", _("note")),
    ),
    sheet_rows,
)


class OutsideCount:
    """Counts the carts whose last sheet proves a value outside, as of the day."""

    def __init__(self, scope):
        self.count = 0

    def take(self, batch):
        here = [cart for cart in batch.carts if cart.is_here and cart.row.left_on is None]
        last = [fact for fact in map(last_sheet, here) if fact is not None]
        lines = CamberToePart().lines_of([fact.pk for fact in last]) if last else {}
        verdicts = [judged(fact, lines.get(fact.pk, [])).verdict for fact in last]
        self.count += verdicts.count(OUTSIDE)

    def figures(self, lines):
        yield Figure(
            "alignment_outside",
            _("carts measured outside in camber or toe, and not put right"),
            self.count,
            _("carts"),
            _("carts in the fleet whose last sheet as of the day proves a value outside"),
            SHEETS.name,
        )
