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
from fleet.models.notice import CheckpointMail, Digest, Notice
from fleet.models.recheck import Recheck
from fleet.models.rulebook import RuleBook
from fleet.models.waiting import WaitingRound

__all__ = [
    "Bundle",
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
    "Reading",
    "Recheck",
    "RecheckOrder",
    "Report",
    "Round",
    "RuleBook",
    "Tag",
    "UseClass",
    "WaitingRound",
]
