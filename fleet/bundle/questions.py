"""What an adjuster asks after a wheel came off or a cart rolled over, and where it is told."""

from dataclasses import dataclass, field

from django.utils.translation import gettext_lazy as _

from fleet.bundle.columns import Column, Table, number

RECORDED, IN_PART, NOT_RECORDED = "recorded", "in part", "not recorded"
CHAPTER = _("chapter of the cart")
# where else than there; the report's words are its headings
PRINTED = {
    "register.csv": _("register"),
    "insurer_not_told.csv": _("report: Insurer not told"),
    "late_list.csv": _("report: Late and stopped, and why"),
    "people.csv": _("report: People and what they could sign"),
    "found_loose.csv": _("report: Found loose"),
    "tags.csv": _("report: Tags, and who released; chapter of the cart"),
    "kit_joints.csv": _("report: Joints of the lifts"),
    "label_coverage.csv": _("report: Label coverage"),
    "corrections.csv": _("report: Struck and corrected"),
    "softened.csv": _("report: Verdicts made better afterwards"),
    "late_written.csv": _("report: Written late"),
    "wrenches.csv": _("report: Torque wrenches"),
    "wrench_certificates.csv": _("report: Certificates of wrenches"),
    "wrench_points.csv": _("report: Errors as found and as left"),
    "wrench_checks.csv": _("report: Quick checks of wrenches"),
    "wrench_events.csv": _("report: What befell wrenches"),
    "wrench_doubts.csv": _("report: Looks with a wrench later doubted"),
    "speed_classes.csv": _("report: Speed classes"),
    "alignment_figures.csv": _("report: Camber and toe figures"),
    # their findings are printed, round by round
    "joint_looks.csv": "",
}
AT_THE_MINUTE = _("ask for the bundle as of that minute: every table is of its two moments")


@dataclass(frozen=True)
class Question:
    """One question. ``told`` names the columns by file that answer it."""

    words: str
    told: dict = field(default_factory=dict)
    missing: str = ""

    @property
    def answered(self):
        if not self.told:
            return NOT_RECORDED
        return IN_PART if self.missing else RECORDED


QUESTIONS = (
    Question(
        _("Was a lift on this cart, since when, which one, and who fitted it?"),
        {"lift_chapters.csv": ("done_at", "kit", "edition", "fitted_by", "firm", "paperwork")},
    ),
    Question(
        _("Had the insurer been told of the lift?"),
        {
            "register.csv": ("insurer_told_on",),
            "insurer_not_told.csv": ("cart", "lifted_since"),
        },
    ),
    Question(
        _("Was the cart to be let out at that minute?"),
        {"register.csv": ("desk", "desk_why", "condition", "is_tagged", "state")},
        _("what somebody at the desk was really shown; %s") % AT_THE_MINUTE,
    ),
    Question(
        _("What work had fallen due on it by then, and what was late?"),
        {
            "rechecks.csv": ("title", "subject", "state", "due_on", "late_on", "stops_on"),
            "late_list.csv": ("work", "state", "days_late", "why"),
        },
    ),
    Question(
        _("When was that joint last gone over, and how was it found?"),
        {"findings.csv": ("done_at", "item", "found", "detail")},
    ),
    Question(
        _("Was that wheel off the cart afterwards, and were its lugs gone over again?"),
        {
            "wheels_off.csv": ("wheel_off", "done_at", "wheel", "reason"),
            "rechecks.csv": ("title", "subject", "started_by", "state", "ended_by"),
        },
    ),
    Question(
        _("With which torque wrench, and did it tell the truth before and after?"),
        {
            "joint_looks.csv": ("done_at", "name", "wrench", "wrench_name", "wrench_state"),
            "wrenches.csv": ("wrench", "state", "why", "last_good_at"),
            "wrench_certificates.csv": ("wrench", "done_at", "found_out", "left_out"),
            "wrench_points.csv": ("certificate", "set_nm", "as_found_percent", "as_left_percent"),
            "wrench_checks.csv": ("wrench", "done_at", "error_percent", "is_good"),
            "wrench_events.csv": ("wrench", "done_at", "what"),
            "wrench_doubts.csv": ("cart", "joint", "delivered_nm", "verdict", "standing"),
        },
    ),
    Question(
        _("Whose work was it, and were they entitled to it on that day?"),
        {
            "rounds.csv": ("done_at", "done_by", "by"),
            "people.csv": ("person", "role", "from_day", "to_day", "may_record", "may_hand_back"),
        },
        _("training and proof of competence: not recorded"),
    ),
    Question(
        _("Had that joint been loose before, and what was done about it?"),
        {
            "findings.csv": ("done_at", "item", "found", "detail"),
            "found_loose.csv": ("kit_code", "family", "stage", "loose_percent"),
            "tags.csv": ("reason", "done"),
        },
    ),
    Question(
        _("Which torque and which order of tightening were asked for, and by whose figure?"),
        {
            "kit_joints.csv": ("joint", "edition", "target_typed", "pattern", "stages", "source"),
            "joint_decisions.csv": ("joint", "target_typed", "source"),
        },
    ),
    Question(
        _("Which thread, grade and batch was it, and which other carts have the same batch?"),
        {
            "kit_joints.csv": ("joint", "thread", "grade"),
            "lift_chapters.csv": (
                "cart",
                "kit_code",
                "u_bolt_thread",
                "u_bolt_grade",
                "u_bolt_batch",
            ),
        },
        _("batches of other parts than U-bolts: not recorded"),
    ),
    Question(
        _("How did camber and toe stand when last measured, as read off the tape?"),
        {
            "alignments.csv": ("done_at", "result", "value", "spread", "unit", "verdict", "sheet"),
            "alignment_readings.csv": ("sheet", "pass", "value_of", "as_read", "is_void"),
            "alignment_sheets.csv": ("sheet", "mark_typed", "is_settled", "is_last"),
            "alignment_turns.csv": ("sheet", "pass", "what", "at", "longer_flats"),
            "alignment_figures.csv": ("kit_code", "source", "done_at", "until_at"),
        },
    ),
    Question(
        _("Had other tyres changed its speed class, or how far it runs before it stops?"),
        {
            "speed_runs.csv": (
                "done_at",
                "tyre_mm",
                "speed_mph",
                "uncertainty_mph",
                "class_code",
                "verdict",
            ),
            "speed_claims.csv": ("done_at", "speed_class"),
            "speed_classes.csv": ("code", "usual", "source", "edition"),
            "brake_checks.csv": ("done_at", "mean_g", "reference_g", "share_percent"),
            "lift_chapters.csv": ("tyre_before", "tyre_after"),
            "register.csv": ("tyre", "tyre_mm"),
        },
    ),
    Question(
        _("Was the warning label there, and could the driver read it when last photographed?"),
        {
            "labels.csv": (
                "done_at",
                "condition",
                "in_place",
                "is_legible",
                "visible_from_seat",
                "seat_photo",
            ),
            "label_coverage.csv": ("standing", "looked_at"),
        },
    ),
    Question(
        _("Had the desk or a driver complained of the cart in the month before?"),
        {"reports.csv": ("done_at", "by", "noticed", "text")},
    ),
    Question(
        _("How many were on board, for how many is it built, who drove and who told them how?"),
        {"register.csv": ("seats",)},
        _("people aboard, belts, the driver and what they were told: not recorded"),
    ),
    Question(
        _("How easily did it tip before and after the lift, the battery, roof or rear seat?"),
        {
            "stability.csv": ("state", "load", "stability_factor", "tip_angle_deg", "assumed"),
            "stability_measures.csv": ("done_at", "mass_kg", "track_mm", "height_mm"),
        },
        _("what was added to or taken off the cart, such as a battery or a roof: not recorded"),
    ),
    Question(
        _("Has anybody changed a record since, and did it come out better for it?"),
        {
            "corrections.csv": ("cart_id", "entry", "taken_back_at", "taken_back_by", "how", "why"),
            "softened.csv": ("what", "before", "after", "came_after", "corrected_at", "by"),
            "late_written.csv": ("entry", "first_received_at", "days_late"),
        },
    ),
    Question(
        _("Where are the cart, the wheel, its nuts and studs now, and who has had them in hand?"),
        {"tags.csv": ("done_at", "key_place", "handed_back_at")},
        _("parts kept in bags, and each hand they went through: not recorded"),
    ),
    Question(
        _("Which carts have the same kit, fitter, batch or mechanic, and how do they stand?"),
        {
            "lift_chapters.csv": ("cart", "kit_code", "fitted_by", "firm", "u_bolt_batch"),
            "rounds.csv": ("cart", "done_by"),
            "joint_looks.csv": ("cart", "wrench_name"),
            "rechecks.csv": ("cart", "title", "subject", "state"),
            "register.csv": ("cart", "state"),
        },
    ),
)


def question_rows(scope):
    """Yield a line for each table that answers a question, one without a table where none does."""
    for place, asked in enumerate(QUESTIONS, start=1):
        named = {"number": place, "question": asked.words, "answered": asked.answered}
        for file, columns in asked.told.items() or [("", ())]:
            yield {
                **named,
                "table": file,
                "columns": "; ".join(columns),
                "printed": printed(file),
                "missing": asked.missing,
            }


def printed(file):
    """Return where on paper the lines of a table stand."""
    return PRINTED.get(file, CHAPTER) if file else ""


QUESTION_LIST = Table(
    "questions.csv",
    _("what an adjuster asks after an accident, and where the answer stands"),
    (
        number("number", _("number of the question, 1 to 20")),
        Column("question", _("the question")),
        Column("answered", _("recorded, in part, or not recorded")),
        Column("table", _("the table that answers it; empty: none")),
        Column("columns", _("its columns")),
        Column("printed", _("where it is in print")),
        Column("missing", _("what is not recorded of it")),
    ),
    question_rows,
    per_cart=False,
    key=("number", "table"),
)
