from fleet.models.cart import Cart, CartNumber, UseClass
from fleet.models.facts import (
    CartFact,
    Countersign,
    HandBack,
    MeterFitted,
    Note,
    Reading,
    RecheckOrder,
    Report,
    Round,
    Tag,
)
from fleet.models.job import Bundle, ImportRun
from fleet.models.notice import (
    CalendarEvent,
    CalendarFeed,
    CheckpointMail,
    Digest,
    Notice,
    Owed,
    ReminderChoice,
)
from fleet.models.recheck import Recheck
from fleet.models.rulebook import RuleBook
from fleet.models.waiting import WaitingRound

__all__ = [
    "Bundle",
    "CalendarEvent",
    "CalendarFeed",
    "Cart",
    "CartFact",
    "CartNumber",
    "CheckpointMail",
    "Countersign",
    "Digest",
    "HandBack",
    "ImportRun",
    "MeterFitted",
    "Note",
    "Notice",
    "Owed",
    "Reading",
    "Recheck",
    "RecheckOrder",
    "ReminderChoice",
    "Report",
    "Round",
    "RuleBook",
    "Tag",
    "UseClass",
    "WaitingRound",
]
