"""How the other tables look in the report."""

from django.utils.translation import gettext_lazy as _

from fleet.bundle.paper import alignment_layouts
from fleet.bundle.paper.layouts import Layout
from fleet.bundle.paper.wrench_layouts import CLASSES, OF_WRENCHES

FIGURES = Layout(
    "figures.csv",
    _("Figures"),
    _(
        "Each with its definition. Those of the day are a snapshot as of the cut. Cart-days count "
        "each cart once for every day, for its gravest state; the days on which a state began or "
        "ended count."
    ),
    (
        ("title", _("Figure"), 60),
        ("value", _("Value"), 20),
        ("unit", _("Unit"), 17),
        ("definition", _("How it is counted, or what is missing"), 122),
        ("table", _("Listed in"), 34),
    ),
)
QUESTIONS = Layout(
    "questions.csv",
    _("Twenty questions, and where each is answered"),
    _("What an adjuster asks after an accident. Columns are those of the table beside them."),
    (
        ("number", _("No."), 10),
        ("question", _("Question"), 58),
        ("answered", _("Answered"), 20),
        ("table", _("Table"), 38),
        ("columns", _("Columns"), 56),
        ("printed", _("In this print"), 46),
        ("missing", _("Not recorded of it"), 48),
    ),
)
PEOPLE = Layout(
    "people.csv",
    _("People and what they could sign"),
    _("Each role, from day to day, each time one was given."),
    (
        ("person", _("Person"), 40),
        ("role", _("Role"), 20),
        ("from_day", _("From"), 20),
        ("to_day", _("To"), 20),
        ("may_record", _("Records rounds"), 18),
        ("may_hand_back", _("Hands back"), 18),
        ("may_countersign", _("Counter- signs"), 18),
        ("in_force", _("Held as of the day"), 20),
        ("given_at", _("Given"), 20),
        ("given_by", _("By"), 40),
    ),
)
RULES = Layout(
    "rules.csv",
    _("Rule book"),
    _("The last version that was in force by then, a line for each limit of each rule."),
    (
        ("title", _("Work"), 30),
        ("starts", _("Its clock starts with"), 34),
        ("step", _("Step"), 11),
        ("limit_days", _("Days"), 11),
        ("limit_hours", _("Hours"), 13),
        ("limit_km", _("km"), 16),
        ("leeway", _("Leeway"), 28),
        ("stop", _("When the cart must not run"), 46),
        ("use_classes", _("Used for"), 18),
        ("lifted_only", _("Lifted alone"), 12),
        ("kits", _("Lifts"), 16),
        ("asked_by", _("Asked by"), 16),
        ("source", _("Source"), 31),
    ),
)
RULE_CHANGES = Layout(
    "rule_changes.csv",
    _("Changes of the rule book"),
    _("What each version said otherwise than the one before. A change acts forward only."),
    (
        ("version", _("Version"), 14),
        ("in_force_from", _("In force from"), 20),
        ("changed_by", _("By"), 24),
        ("reason", _("Why"), 46),
        ("about", _("About"), 44),
        ("part", _("What of it"), 30),
        ("before", _("Before"), 40),
        ("after", _("After"), 40),
    ),
)
SITE_CHANGES = Layout(
    "site_changes.csv",
    _("Changes of the site's settings"),
    _("Such as its time zone, units and working days."),
    (
        ("done_at", _("Changed"), 22),
        ("received_at", _("Arrived here"), 22),
        ("by", _("By"), 30),
        ("setting", _("Setting"), 44),
        ("before", _("Before"), 60),
        ("after", _("After"), 60),
    ),
)
SIGNING_KEYS = Layout(
    "signing_keys.csv",
    _("Changes of the signing key"),
    _("Each new public key is signed by the one before it."),
    (
        ("done_at", _("Changed"), 22),
        ("received_at", _("Arrived here"), 22),
        ("by", _("By"), 40),
        ("before", _("Key before"), 40),
        ("key", _("Key from then on"), 40),
    ),
)
RESTORES = Layout(
    "restores.csv",
    _("Older databases put back"),
    _("Each begins an epoch, and says which entries of the epoch before are missing."),
    (
        ("done_at", _("Put back"), 22),
        ("received_at", _("Arrived here"), 22),
        ("by", _("By"), 40),
        ("epoch", _("Epoch"), 16),
        ("missing_from", _("Missing from"), 24),
        ("missing_to", _("Missing to"), 24),
        ("reason", _("Why"), 110),
    ),
)
FOUND_LOOSE = Layout(
    "found_loose.csv",
    _("Found loose"),
    _(
        "How often joints were found loose. Moved counts those that took up as well. Low and "
        "high are the ends of a 95 % score interval."
    ),
    (
        ("kit_code", _("Lift"), 30),
        ("family", _("Joints"), 36),
        ("stage", _("Stage"), 22),
        ("looks", _("Looks"), 14),
        ("firm", _("Firm"), 13),
        ("took_up", _("Took up"), 13),
        ("slack", _("Slack"), 13),
        ("gone", _("Gone"), 13),
        ("not_reached", _("Not reached"), 16),
        ("loose_percent", _("Loose, %"), 15),
        ("loose_low", _("Low"), 13),
        ("loose_high", _("High"), 13),
        ("moved_percent", _("Moved, %"), 16),
        ("moved_low", _("Low"), 13),
        ("moved_high", _("High"), 13),
    ),
)
KITS = Layout(
    "kits.csv",
    _("Lifts, and the maker's instructions"),
    _("Every edition of every kit at the site, and when it was in force."),
    (
        ("code", _("Short name"), 24),
        ("name", _("Lift"), 40),
        ("edition", _("Edition"), 24),
        ("front", _("Front"), 22),
        ("rear", _("Rear"), 22),
        ("rise_front_mm", _("Rise front, mm"), 17),
        ("rise_rear_mm", _("Rise rear, mm"), 17),
        ("has_sheet", _("Text kept"), 15),
        ("sheet_sha256", _("File kept"), 34),
        ("above_proof", _("Why above proof load"), 34),
        ("from_at", _("In force from"), 20.5),
        ("until_at", _("Until"), 20.5),
        ("by", _("By"), 22),
    ),
)
KIT_JOINTS = Layout(
    "kit_joints.csv",
    _("Joints of the lifts"),
    _("Each joint of each edition, its target and whose figure that is."),
    (
        ("code", _("Lift"), 22),
        ("edition", _("Edition"), 20),
        ("joint", _("Joint"), 34),
        ("count", _("Count"), 13),
        ("thread", _("Thread"), 20),
        ("grade", _("Grade"), 19),
        ("target_typed", _("Target as written"), 24),
        ("target_nm", _("Target, N·m"), 16),
        ("proof_share", _("Of proof load, %"), 14),
        ("proof_assumed", _("Assumed"), 28),
        ("pattern", _("Order"), 18),
        ("thread_locker", _("Thread lock"), 16),
        ("locking", _("Locking"), 16),
        ("is_critical", _("Critical"), 15),
        ("source", _("Whose figure"), 34),
    ),
)
OF_SITE = (PEOPLE, SITE_CHANGES, SIGNING_KEYS, RESTORES)
OF_LIFTS = (*OF_WRENCHES, FOUND_LOOSE, KITS, KIT_JOINTS, CLASSES, alignment_layouts.FIGURES)
