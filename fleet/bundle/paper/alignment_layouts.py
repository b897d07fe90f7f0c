"""How the tables of camber and toe look: in the chapter of a cart, and in the report."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.paper.layouts import Layout

RESULTS = Layout(
    "alignments.csv",
    _("Camber and toe"),
    _(
        "Each result with its uncertainty (k = 2). Minus camber: top leans in; plus toe: front "
        "closer. Entries of before passes were asked have no probability and no pass."
    ),
    (
        ("done_at", _("Measured"), 27),
        ("result", _("Result"), 22),
        ("value", _("Value"), 13),
        ("spread", _("Either side"), 13),
        ("low", _("Lower limit"), 13),
        ("high", _("Upper limit"), 13),
        ("unit", _("Unit"), 10),
        ("verdict", _("Verdict"), 17),
        ("probability_inside", _("Inside, of 1"), 13),
        ("freedom", _("Degrees of free- dom"), 15),
        ("pass", _("Pass"), 10),
        ("total_deg", _("Angle, °"), 14),
    ),
)
SHEETS = Layout(
    "alignment_sheets.csv",
    _("Camber and toe sheets"),
    _("How each was measured, and what was done. Empty was not asked or not recorded."),
    (
        ("done_at", _("Measured"), 27),
        ("by", _("By"), 14),
        ("passes", _("Passes"), 13.5),
        ("void_readings", _("Void"), 10),
        ("mark_typed", _("Smallest mark"), 16),
        ("diameter_typed", _("Toe read at"), 13),
        ("is_settled", _("Settled"), 14),
        ("after_kerb_hit", _("After kerb hit"), 10),
        ("driven", _("Driven"), 12.5),
        ("verdict", _("Verdict"), 17),
        ("limits_from", _("Limits from"), 33),
    ),
)
READINGS = Layout(
    "alignment_readings.csv",
    _("Camber and toe as read"),
    _("Each reading as it was read. Void: something was turned later, or the cart was driven."),
    (
        ("done_at", _("Measured"), 27),
        ("pass", _("Pass"), 10),
        ("value_of", _("Of"), 23),
        ("half_turn", _("Half turn"), 10),
        ("as_read", _("As read"), 72),
        ("value", _("Comes to"), 15),
        ("unit", _("Unit"), 11),
        ("is_void", _("Void"), 12),
    ),
)
TURNS = Layout(
    "alignment_turns.csv",
    _("What was turned"),
    _("Flats are sixths of a turn, plus for longer. Camber in degrees, toe in millimetres."),
    (
        ("done_at", _("Measured"), 27),
        ("pass", _("Before pass"), 12.5),
        ("what", _("What"), 13),
        ("at", _("Side"), 13),
        ("longer_flats", _("Flats longer"), 13),
        ("formula_deg", _("Formula, °"), 18),
        ("formula_mm", _("Formula, mm"), 15),
        ("predicted_deg", _("Foretold, °"), 18),
        ("predicted_mm", _("Foretold, mm"), 16),
        ("before", _("Before"), 13),
        ("after", _("After"), 12),
        ("unit", _("Unit"), 10),
    ),
)
FIGURES = Layout(
    "alignment_figures.csv",
    _("Camber and toe figures"),
    _(
        "What carts are held to and how they are adjusted, each time that was told. An empty lift "
        "is all carts of the site; without any the default holds: common practice, no source."
    ),
    (
        ("done_at", _("Told"), 19.5),
        ("by", _("By"), 18),
        ("kit_code", _("Lift"), 14),
        ("source", _("Whose figures"), 26),
        ("camber_low_deg", _("Camber from, °"), 14.5),
        ("camber_high_deg", _("to, °"), 11),
        ("side_to_side_deg", _("Side to side, °"), 12),
        ("toe_low_mm", _("Toe from, mm"), 12),
        ("toe_high_mm", _("to, mm"), 12),
        ("rods", _("Tie rods"), 12),
        ("rod_ends", _("Thread"), 13.5),
        ("rod_pitch_typed", _("Pitch"), 13),
        ("arm_typed", _("Arm"), 11),
        ("arm", _("Arm is"), 14),
        ("camber_adjusts", _("Camber by"), 14.5),
        ("sleeve_pitch_typed", _("Its pitch"), 13),
        ("knuckle_typed", _("Knuckle"), 15.5),
        ("until_at", _("Until"), 19.5),
        ("note", _("Note"), 18),
    ),
)
IN_CHAPTERS = (RESULTS, SHEETS, READINGS, TURNS)
