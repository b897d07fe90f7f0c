"""How the tables look in the report. A table is printed by the line that names it here."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.paper.layouts import Layout

LATE = Layout(
    "late_list.csv",
    _("Late and stopped, and why"),
    _("Work past its leeway; stopped means past the stop limit, when the cart must not run."),
    (
        ("cart", _("Cart"), 12),
        ("work", _("Work"), 40),
        ("state", _("State"), 16),
        ("due_on", _("Due"), 19),
        ("late_on", _("Late from"), 19),
        ("stops_on", _("Stops"), 19),
        ("days_late", _("Days late"), 12),
        ("days_stopped", _("Days stopped"), 14),
        ("why", _("Why"), 50),
        ("condition", _("Cart is"), 20),
        ("is_tagged", _("Tagged"), 13),
        ("use_class", _("Used for"), 18),
    ),
)
TAGS = Layout(
    "tags.csv",
    _("Tags, and who released"),
    _("Carts kept out of use, and who handed each back."),
    (
        ("cart", _("Cart"), 12),
        ("done_at", _("Tagged"), 19),
        ("by", _("By"), 22),
        ("reason", _("Why"), 40),
        ("days_out", _("Days out"), 12),
        ("handed_back_at", _("Handed back"), 19),
        ("handed_back_by", _("By"), 22),
        ("done", _("What was done"), 50),
        ("repaired_by", _("Repaired by"), 22),
        ("same_person", _("Same person"), 15),
        ("drive_note", _("Drive after it"), 36),
    ),
)
CORRECTIONS = Layout(
    "corrections.csv",
    _("Struck and corrected"),
    _("Entries that were taken back, and what they had said."),
    (
        ("number", _("Entry"), 13),
        ("kind", _("Kind"), 20),
        ("cart_id", _("Cart's id"), 17),
        ("received_at", _("Had arrived"), 19),
        ("taken_back_at", _("Taken back"), 19),
        ("taken_back_by", _("By"), 22),
        ("how", _("How"), 17),
        ("why", _("Why"), 40),
        ("old_value", _("What it had said"), 110),
    ),
)
EXCEPTIONS = (LATE, TAGS, CORRECTIONS)
FIGURES = Layout("figures.csv", _("Figures"), "", ())
QUESTIONS = Layout("questions.csv", _("The twenty questions, and where each is answered"), "", ())
PEOPLE = Layout(
    "people.csv",
    _("People and what they could sign"),
    _(
        "Each role that was given. Managers and those who may release hand tagged carts back; "
        "managers and mechanics record rounds."
    ),
    (
        ("person", _("Person"), 40),
        ("role", _("Role"), 20),
        ("from_day", _("From"), 19),
        ("to_day", _("To"), 19),
        ("may_release", _("May release"), 18),
        ("in_force", _("Held as of the day"), 20),
        ("given_at", _("Given"), 19),
        ("given_by", _("By"), 40),
    ),
)
RULES = Layout(
    "rules.csv",
    _("Rule book in force"),
    _("The last version that was in force by then, a line for each limit of each rule."),
    (
        ("title", _("Work"), 30),
        ("starts", _("Its clock starts with"), 34),
        ("step", _("Step"), 11),
        ("limit_days", _("Days"), 11),
        ("limit_hours", _("Hours"), 11),
        ("limit_km", _("km"), 16),
        ("leeway", _("Leeway"), 28),
        ("stop", _("When the cart must not run"), 46),
        ("use_classes", _("Used for"), 18),
        ("lifted_only", _("Lifted alone"), 12),
        ("kits", _("Lifts"), 16),
        ("asked_by", _("Asked by"), 16),
        ("source", _("Source"), 32),
    ),
)
RULE_CHANGES = Layout(
    "rules.csv",
    _("Changes of the rule book"),
    _("Each version, from when it held, and why it came. A change acts forward only."),
    (
        ("version", _("Version"), 15),
        ("in_force_from", _("In force from"), 25),
        ("changed_by", _("By"), 40),
        ("reason", _("Why"), 150),
    ),
)
