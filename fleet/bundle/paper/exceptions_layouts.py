"""How the exceptions look in the report, in the order in which they stand there."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.paper.layouts import Layout
from fleet.bundle.paper.wrench_layouts import DOUBTS

LATE = Layout(
    "late_list.csv",
    _("Late and stopped, and why"),
    _("Work past its leeway; stopped means past the stop limit, when the cart must not run."),
    (
        ("cart", _("Cart"), 13),
        ("work", _("Work"), 40),
        ("state", _("State"), 16),
        ("due_on", _("Due"), 19),
        ("late_on", _("Late from"), 19),
        ("stops_on", _("Stops"), 19),
        ("days_late", _("Days late"), 12),
        ("days_stopped", _("Days stopped"), 14),
        ("why", _("Why"), 52),
        ("condition", _("Cart is"), 18),
        ("is_tagged", _("Tagged"), 13),
        ("use_class", _("Used for"), 18),
    ),
)
STOPPED_MOVING = Layout(
    "stopped_moving.csv",
    _("Stopped, and moved all the same"),
    _("Carts whose meter rose after a stop limit was reached and before the work was done."),
    (
        ("cart", _("Cart"), 13),
        ("work", _("Work"), 40),
        ("stops_on", _("Stopped from"), 20),
        ("ended_at", _("Ended"), 20),
        ("read_before_at", _("Reading before"), 20),
        ("first_risen_at", _("First rise"), 20),
        ("last_risen_at", _("Last rise"), 20),
        ("readings", _("Readings"), 16),
        ("more_hours", _("Hours more"), 15),
        ("more_km", _("km more"), 17),
    ),
)
TAGGED_MOVING = Layout(
    "tagged_moving.csv",
    _("Tagged, and moved all the same"),
    _("Carts whose meter rose between the tag and the hand-back, test drives among them."),
    (
        ("cart", _("Cart"), 13),
        ("done_at", _("Tagged"), 20),
        ("reason", _("Why"), 34),
        ("handed_back_at", _("Handed back"), 20),
        ("read_before_at", _("Reading before"), 20),
        ("read_after_at", _("Reading after"), 20),
        ("hours_before", _("Hours before"), 15),
        ("hours_after", _("Hours after"), 15),
        ("more_hours", _("Hours more"), 15),
        ("more_km", _("km more"), 15),
        ("read_by", _("Read by"), 26),
        ("drive_noted", _("Drive noted"), 14),
        ("drive_note", _("Drive"), 34),
    ),
)
LAY_UPS = Layout(
    "lay_ups.csv",
    _("Lay-ups, and what was run in them"),
    _("Told more than 7 days late, a lay-up counts from the day it was told."),
    (
        ("cart", _("Cart"), 13),
        ("done_at", _("From"), 20),
        ("told_at", _("Told"), 20),
        ("counts_from", _("Counts from"), 20),
        ("until_at", _("Until"), 20),
        ("read_before_at", _("Reading before"), 20),
        ("read_after_at", _("Reading after"), 20),
        ("hours_before", _("Hours before"), 15),
        ("hours_after", _("Hours after"), 15),
        ("more_hours", _("Hours more"), 15),
        ("more_km", _("km more"), 15),
        ("void", _("Void"), 14),
        ("by", _("By"), 22),
        ("reason", _("Why"), 30),
    ),
)
TAGS = Layout(
    "tags.csv",
    _("Tags, and who released"),
    _("Carts kept out of use, and who handed each back."),
    (
        ("cart", _("Cart"), 13),
        ("done_at", _("Tagged"), 19),
        ("by", _("By"), 22),
        ("reason", _("Why"), 42),
        ("days_out", _("Days out"), 11),
        ("handed_back_at", _("Handed back"), 19),
        ("handed_back_by", _("By"), 22),
        ("done", _("What was done"), 50),
        ("repaired_by", _("Repaired by"), 22),
        ("same_person", _("Same person"), 14),
        ("drive_note", _("Drive after it"), 36),
    ),
)
SAME_PERSON = Layout(
    "same_person.csv",
    _("Released by one who worked at it"),
    _("Hand-backs by the repairer, or by who did a round on the cart since the tag."),
    (
        ("cart", _("Cart"), 13),
        ("tagged_at", _("Tagged"), 19),
        ("done_at", _("Handed back"), 19),
        ("by", _("By"), 28),
        ("how_known", _("How it is known"), 30),
        ("repaired_by", _("Repaired by"), 28),
        ("done", _("What was done"), 64),
        ("drive_note", _("Drive after it"), 56),
        ("tag", _("Tag"), 19),
    ),
)
LATE_WRITTEN = Layout(
    "late_written.csv",
    _("Written late"),
    _(
        "Entries that arrived more than 24 hours after the work. A round of more than 7 days "
        "closes nothing until a manager countersigns it with a reason."
    ),
    (
        ("cart", _("Cart"), 13),
        ("kind", _("Kind"), 22),
        ("done_at", _("Done"), 19),
        ("first_received_at", _("First arrived"), 19),
        ("days_late", _("Days"), 11),
        ("over_a_week", _("Over a week"), 14),
        ("by", _("By"), 24),
        ("countersign", _("Countersign"), 26),
        ("countersigned_at", _("At"), 19),
        ("countersigned_by", _("By"), 22),
        ("countersign_reason", _("Why it counts"), 40),
        ("entry", _("Entry"), 18),
    ),
)
CORRECTIONS = Layout(
    "corrections.csv",
    _("Struck and corrected"),
    _("Entries that were taken back, and what they had said."),
    (
        ("number", _("No."), 13),
        ("kind", _("Kind"), 34),
        ("cart_id", _("Cart's id"), 18),
        ("received_at", _("Had arrived"), 19),
        ("taken_back_at", _("Taken back"), 19),
        ("taken_back_by", _("By"), 20),
        ("how", _("How"), 17),
        ("why", _("Why"), 36),
        ("old_value", _("What it had said"), 95),
    ),
    body="old_value",
)
SOFTENED = Layout(
    "softened.csv",
    _("Verdicts made better afterwards"),
    _(
        "Corrections that turned a verdict better after a tag or a report on that cart, or more "
        "than 7 days after it was first told."
    ),
    (
        ("cart", _("Cart"), 13),
        ("part", _("Part"), 20),
        ("what", _("Verdict of"), 30),
        ("before", _("Before"), 18),
        ("after", _("After"), 18),
        ("came_after", _("Came after"), 24),
        ("tag_or_report_done_at", _("Tag or report"), 19),
        ("corrected_at", _("Corrected"), 19),
        ("by", _("By"), 24),
        ("why", _("Why"), 36),
        ("entry", _("Entry"), 18),
        ("corrected_by_entry", _("Corrected by"), 18),
    ),
)
ESTIMATES = Layout(
    "estimated_readings.csv",
    _("Estimated meter readings"),
    _("Readings that nobody took off a meter. None makes a recheck late or stopped."),
    (
        ("cart", _("Cart"), 13),
        ("done_at", _("For"), 25),
        ("by", _("By"), 40),
        ("hours_shown", _("Hours"), 20),
        ("distance_shown", _("Distance"), 22),
        ("typed", _("As typed"), 60),
        ("received_at", _("Arrived here"), 25),
    ),
)
ESTIMATED_DUE = Layout(
    "estimated_due.csv",
    _("Due days that rest on an estimate"),
    _("Rechecks dated by an estimated reading or by the average of the cart's use."),
    (
        ("cart", _("Cart"), 13),
        ("work", _("Work"), 60),
        ("due_on", _("Due"), 25),
        ("earliest_on", _("Earliest"), 25),
        ("latest_on", _("Latest"), 25),
        ("read_at", _("Last reading"), 32),
    ),
)
PART_CLOSED = Layout(
    "part_closed.csv",
    _("Rounds that closed a part only"),
    _("Work that a round did and that does not close, with the reason, and joints not reached."),
    (
        ("cart", _("Cart"), 13),
        ("done_at", _("Round of"), 20),
        ("by", _("By"), 26),
        ("left", _("Left"), 20),
        ("what", _("Work or joint"), 60),
        ("why", _("Why"), 90),
        ("round", _("Round"), 18),
    ),
)
CANNOT_TELL = Layout(
    "cannot_tell.csv",
    _("Alignments that cannot be told"),
    _("Camber and toe results too near a limit for their uncertainty."),
    (
        ("cart", _("Cart"), 13),
        ("done_at", _("Measured"), 28),
        ("by", _("By"), 40),
        ("result", _("Result"), 30),
        ("value", _("Value"), 20),
        ("spread", _("Either side"), 20),
        ("low", _("Lower limit"), 20),
        ("high", _("Upper limit"), 20),
        ("unit", _("Unit"), 16),
        ("round", _("Round"), 20),
    ),
)
MOVES = Layout(
    "moves.csv",
    _("Rounds moved from a wrong cart"),
    _("Each stands twice: for the cart that it left and for the one that it came to."),
    (
        ("cart", _("Cart"), 13),
        ("moved", _("Moved"), 28),
        ("other_cart_id", _("Other cart's id"), 20),
        ("moved_at", _("At"), 20),
        ("by", _("By"), 26),
        ("why", _("Why"), 90),
        ("round_before", _("Round before"), 20),
        ("round_now", _("Round now"), 20),
    ),
)
UNPROVEN = Layout(
    "unproven.csv",
    _("Unproven lifts"),
    _("Lifts without papers of their fitting and without a baseline round yet."),
    (
        ("cart", _("Cart"), 13),
        ("kit_code", _("Lift"), 40),
        ("fitted_at", _("Fitted, as far as known"), 30),
        ("use_class", _("Used for"), 25),
        ("condition", _("Cart is"), 25),
        ("is_tagged", _("Tagged"), 18),
        ("unrecorded_before", _("Not recorded before"), 30),
    ),
)
NOT_TOLD = Layout(
    "insurer_not_told.csv",
    _("Insurer not told"),
    _("Lifted carts without a recorded day on which the insurer was told of the lift."),
    (
        ("cart", _("Cart"), 13),
        ("lifted_since", _("Lifted since"), 30),
        ("use_class", _("Used for"), 30),
        ("condition", _("Cart is"), 30),
        ("is_tagged", _("Tagged"), 20),
    ),
)
LABELS = Layout(
    "label_coverage.csv",
    _("Label coverage"),
    _("How the warning label of each lifted cart stands, by the last look at it."),
    (
        ("cart", _("Cart"), 13),
        ("standing", _("Label"), 100),
        ("looked_at", _("Last look"), 28),
        ("days_ago", _("Days ago"), 16),
        ("photos", _("Photos, of two"), 24),
        ("label_check", _("Look"), 20),
    ),
)
GAPS = Layout(
    "gaps.csv",
    _("Gaps in carts' records"),
    _("What is not recorded of the carts in the fleet."),
    (
        ("cart", _("Cart"), 13),
        ("not_recorded", _("Not recorded"), 130),
        ("about", _("Of which entry, or before which day"), 60),
    ),
    joins="not_recorded",
)
NOT_RECORDED = Layout(
    "not_recorded.csv",
    _("Not recorded by this tool"),
    _("What no line of any table speaks of."),
    (
        ("subject", _("About"), 70),
        ("what", _("What is not recorded"), 150),
    ),
)
EXCEPTIONS = (
    LATE,
    STOPPED_MOVING,
    TAGGED_MOVING,
    LAY_UPS,
    TAGS,
    SAME_PERSON,
    LATE_WRITTEN,
    CORRECTIONS,
    SOFTENED,
    ESTIMATES,
    ESTIMATED_DUE,
    PART_CLOSED,
    CANNOT_TELL,
    MOVES,
    DOUBTS,
    UNPROVEN,
    NOT_TOLD,
    LABELS,
    GAPS,
    NOT_RECORDED,
)
