"""How the tables of one cart's lift look in its chapter: record, runs, stability, joints beside."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.paper.layouts import Layout

FITTINGS = Layout(
    "lift_chapters.csv",
    _("Fitting records"),
    _("What was put down of each fitting; empty is not recorded."),
    (
        ("done_at", _("Fitted"), 19.5),
        ("hub_bearing", _("Hub bearing"), 15),
        ("lug_seat", _("Lug seat"), 12),
        ("u_bolts_new", _("New U-bolts"), 14),
        ("u_bolts_a_side", _("U-bolts a side"), 14),
        ("u_bolt_thread", _("Their thread"), 14),
        ("u_bolt_grade", _("Their grade"), 13),
        ("locker_used", _("Thread- locker"), 16),
        ("brake_tensioned", _("Brake tensioned"), 18),
        ("clear_at_lock", _("Free at lock"), 11),
        ("handed_to", _("Handed to"), 16),
        ("label_batch", _("Label batch"), 13),
        ("remarks", _("To be looked at"), 28),
    ),
)
LENGTHS = Layout(
    "fitting_lengths.csv",
    _("Lengths before and after"),
    _("As typed when the lift was fitted, and in millimetres."),
    (
        ("chapter", _("Fitting"), 20),
        ("what", _("What"), 36),
        ("where", _("Where"), 24),
        ("before_typed", _("Before"), 24),
        ("before_mm", _("Before, mm"), 20),
        ("after_typed", _("After"), 24),
        ("after_mm", _("After, mm"), 20),
    ),
)
SPEEDS = Layout(
    "speed_runs.csv",
    _("Speed runs"),
    _("Mean of both ways with its uncertainty, against the class that the cart was held to then."),
    (
        ("done_at", _("When"), 19),
        ("by", _("By"), 17),
        ("length_typed", _("Length"), 16),
        ("time_1_s", _("There, s"), 13),
        ("time_2_s", _("Back, s"), 12),
        ("tyre_mm", _("Tyres, mm"), 13),
        ("speed_mph", _("mph"), 12),
        ("uncertainty_mph", _("Either side"), 13),
        ("speed_kmh", _("km/h"), 12),
        ("class_name", _("Class"), 28),
        ("class_source", _("Source"), 32),
        ("verdict", _("Verdict"), 15),
    ),
)
CLAIMS = Layout(
    "speed_claims.csv",
    _("Speed classes claimed"),
    _("Without a claim the site's usual class holds; see the report."),
    (
        ("done_at", _("When"), 20),
        ("by", _("By"), 30),
        ("speed_class", _("Class"), 40),
        ("reason", _("Why"), 80),
    ),
)
BRAKES = Layout(
    "brake_checks.csv",
    _("Brake checks and timed stops"),
    _("Braking as a share of standard gravity, held against the run or runs named beside it."),
    (
        ("done_at", _("When"), 18),
        ("by", _("By"), 18),
        ("is_pedal_low", _("Pedal low"), 12),
        ("holds_on_slope", _("Holds on slope"), 13),
        ("cable_free", _("Cable free"), 12),
        ("run_1_g", _("Run 1, g"), 13),
        ("run_2_g", _("Run 2, g"), 13),
        ("mean_g", _("Mean, g"), 13),
        ("reference_g", _("Held against, g"), 15),
        ("reference_said", _("Whose"), 39),
        ("share_percent", _("Share, %"), 14),
        ("is_looked_into", _("Below 80 %"), 13),
    ),
)
STABILITY = Layout(
    "stability.csv",
    _("Stability before and now"),
    _("Computed from the last measure to the first order. For comparison only, never a limit."),
    (
        ("measured_at", _("Measured"), 20),
        ("state", _("State"), 15),
        ("load", _("Load"), 19),
        ("track_mm", _("Track, mm"), 15),
        ("height_mm", _("Centre of gravity, mm"), 18),
        ("stability_factor", _("Factor"), 15),
        ("tip_angle_deg", _("Tip angle, °"), 14),
        ("before_what", _("Before what"), 20),
        ("assumed", _("What was assumed"), 74),
    ),
)
MEASURES = Layout(
    "stability_measures.csv",
    _("Stability as measured"),
    _("Each time the cart was weighed and measured, as typed."),
    (
        ("done_at", _("When"), 20),
        ("by", _("By"), 20),
        ("is_lifted", _("Lifted then"), 13),
        ("mass_typed", _("Mass"), 20),
        ("track_typed", _("Track"), 20),
        ("tyre_mm", _("Tyres, mm"), 15),
        ("cg_typed", _("Centre of gravity"), 20),
        ("steps", _("Steps of lifts"), 14),
        ("height_mm", _("Comes to, mm"), 16),
        ("people_typed", _("People"), 18),
        ("note", _("Note"), 32),
    ),
)
SEEN = Layout(
    "joints_seen.csv",
    _("Joints that the list lacks"),
    _("Seen at the cart, and what became of it as of the day."),
    (
        ("done_at", _("Seen"), 20),
        ("by", _("By"), 22),
        ("name", _("Joint"), 40),
        ("family", _("Family"), 24),
        ("wheel", _("Wheel"), 20),
        ("count", _("Count"), 13),
        ("thread", _("Thread"), 18),
        ("decision", _("Decision"), 19),
        ("note", _("Note"), 36),
    ),
)
DECISIONS = Layout(
    "joint_decisions.csv",
    _("Decisions on such joints"),
    _("Each by a manager: taken up beside the kit's own list, declined, or ended."),
    (
        ("done_at", _("When"), 20),
        ("by", _("By"), 20),
        ("decision", _("Decision"), 19),
        ("joint", _("Joint"), 36),
        ("thread", _("Thread"), 16),
        ("grade", _("Grade"), 15),
        ("target_typed", _("Target as written"), 20),
        ("source", _("Whose figure"), 26),
        ("reason", _("Why"), 36),
    ),
)
