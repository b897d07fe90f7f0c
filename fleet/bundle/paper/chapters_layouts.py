"""How the tables look in the chapter of one cart."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.paper import alignment_layouts, lifts_layouts
from fleet.bundle.paper.layouts import Layout

LIFTS = Layout(
    "lift_chapters.csv",
    _("Lifts"),
    _("Each lift that was on the cart, from its fitting on."),
    (
        ("done_at", _("Fitted"), 19.5),
        ("by", _("Recorded by"), 18),
        ("kit", _("Lift"), 22),
        ("edition", _("Edition"), 14),
        ("front", _("Front"), 14),
        ("rear", _("Rear"), 12),
        ("fitted_by", _("Fitted by"), 17),
        ("firm", _("Firm"), 14),
        ("paperwork", _("Papers"), 14.5),
        ("tyre_after", _("Tyres then"), 16),
        ("u_bolt_batch", _("U-bolts"), 15),
        ("until_at", _("Until"), 19.5),
        ("why_removed", _("Why"), 14),
    ),
)
RECHECKS = Layout(
    "rechecks.csv",
    _("Rechecks, ended and standing"),
    _("Each piece of scheduled work. Once it has ended, its state is closed or void."),
    (
        ("title", _("Work"), 29),
        ("subject", _("About"), 19),
        ("state", _("State"), 14),
        ("due_on", _("Due"), 18),
        ("late_on", _("Late from"), 18),
        ("stops_on", _("Stops"), 18),
        ("ended_at", _("Ended"), 18),
        ("state_at_end", _("Was then"), 13),
        ("closed_by", _("Closed by"), 19),
        ("void_reason", _("Why void"), 19),
    ),
)
TAGS = Layout(
    "tags.csv",
    _("Tags and hand-backs"),
    _("Each time the cart was kept out of use."),
    (
        ("done_at", _("Tagged"), 18),
        ("by", _("By"), 17),
        ("reason", _("Why"), 28),
        ("days_out", _("Days out"), 10),
        ("handed_back_at", _("Handed back"), 18),
        ("handed_back_by", _("By"), 17),
        ("done", _("What was done"), 32),
        ("repaired_by", _("Repaired by"), 17),
        ("same_person", _("Same person"), 13),
        ("drive_note", _("Drive after it"), 26),
    ),
)
LABELS = Layout(
    "labels.csv",
    _("Warning label"),
    _("Each look at it. The photos lie in the bundle under the fingerprint that begins so."),
    (
        ("done_at", _("Seen"), 18.5),
        ("by", _("By"), 16),
        ("position", _("Where"), 18),
        ("condition", _("Condition"), 17.5),
        ("in_place", _("In place"), 11),
        ("is_legible", _("Legible"), 14),
        ("visible_from_seat", _("Seen from seat"), 12),
        ("covered_by", _("Covered by"), 16),
        ("replaced", _("New label"), 11),
        ("letters", _("Heights of letters"), 26),
        ("seat_photo", _("Photo from the seat"), 22),
        ("close_photo", _("Photo close up"), 22),
    ),
)
REPORTS = Layout(
    "reports.csv",
    _("Reports and notes"),
    _("What desk and drivers noticed, in their words."),
    (
        ("done_at", _("When"), 18),
        ("by", _("By"), 24),
        ("noticed", _("Noticed"), 22),
        ("text", _("In their words"), 100),
    ),
)
READINGS = Layout(
    "readings.csv",
    _("Meter readings"),
    _("The first and the last, and those that are doubted or estimated; all are in readings.csv."),
    (
        ("done_at", _("Read"), 18),
        ("by", _("By"), 24),
        ("hours_shown", _("Hours shown"), 16),
        ("distance_shown", _("Distance shown"), 18),
        ("typed", _("As typed"), 30),
        ("source", _("Who read it"), 18),
        ("doubted", _("Why doubted"), 46),
    ),
)
WHEELS_OFF = Layout(
    "wheels_off.csv",
    _("Wheels off"),
    _("Each time a wheel was off the cart."),
    (
        ("done_at", _("When"), 20),
        ("by", _("By"), 26),
        ("wheel", _("Wheel"), 30),
        ("reason", _("Why"), 80),
        ("is_tyre_changed", _("Tyre changed"), 18),
    ),
)
JOINT_ROUNDS = Layout(
    "joint_rounds.csv",
    _("Joints and wrenches"),
    _("Each time the joints were gone round, with which wrenches, and how many were found how."),
    (
        ("done_at", _("When"), 20),
        ("by", _("By"), 24),
        ("stage", _("Stage"), 20),
        ("wrench", _("Wrenches"), 36),
        ("firm", _("Firm"), 12),
        ("took_up", _("Took up"), 13),
        ("slack", _("Slack"), 12),
        ("gone", _("Gone"), 12),
        ("not_reached", _("Not reached"), 15),
        ("round", _("Round"), 18),
    ),
)
# they stand round by round
FINDINGS = Layout(
    "findings.csv",
    "",
    "",
    (
        ("part", _("Part"), 20),
        ("item", _("What was looked at or measured"), 70),
        ("found", _("Found"), 28),
        ("detail", _("Read, measured or done"), 68),
    ),
    joins="item",
)
IN_CHAPTERS = (
    LIFTS,
    lifts_layouts.FITTINGS,
    lifts_layouts.LENGTHS,
    TAGS,
    REPORTS,
    RECHECKS,
    WHEELS_OFF,
    JOINT_ROUNDS,
    lifts_layouts.SEEN,
    lifts_layouts.DECISIONS,
    *alignment_layouts.IN_CHAPTERS,
    lifts_layouts.SPEEDS,
    lifts_layouts.CLAIMS,
    lifts_layouts.BRAKES,
    lifts_layouts.MEASURES,
    lifts_layouts.STABILITY,
    LABELS,
    READINGS,
)
