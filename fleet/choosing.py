"""What is mailed to a person by their roles, and what of it they may do without. No writes."""

from dataclasses import dataclass

from fleet.models import ReminderChoice
from fleet.reminding import Stage, may_do_without, tells
from shared.models import Membership


@dataclass(frozen=True)
class Told:
    """A stage that a person is told of; ``bound`` are the roles that cannot do without it."""

    stage: Stage
    is_wanted: bool
    bound: tuple[Membership, ...]
    is_free: bool


def told_of(memberships, choice) -> list[Told]:
    """Return every stage that one of the roles is told of, in the order of the stages."""
    rows = {stage: [row for row in memberships if tells(row, stage)] for stage in Stage}
    return [_told(stage, rows[stage], choice) for stage in Stage if rows[stage]]


def _told(stage, rows, choice):
    bound = tuple(row for row in rows if not may_do_without(row.role, stage))
    return Told(stage, stage not in choice.without, bound, is_free=len(bound) < len(rows))


def choice_of(person):
    """Return what the person chose; unsaved when nothing yet."""
    return ReminderChoice.objects.filter(pk=person.pk).first() or ReminderChoice(person=person)
