"""Recorded camber and toe sheets read whole: what was found, what was left. No writes."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from alignment.counting import CAMBERS, SIDE_TO_SIDE, TOE
from alignment.drift import Measured
from alignment.geometry import toe_total_deg
from alignment.judging import FOUND, LEFT_AS, Judged, Result, judge, judge_stage
from alignment.models import CamberToeSheet
from alignment.parts import CamberToePart
from alignment.readings import SLEEVE, Sheet
from alignment.sheets import sheet_of
from fleet.kinds import Cut
from fleet.tellings import first_tellings
from shared.models import Person

MOST_SHEETS = 400
ANGLES = (*CAMBERS, TOE)


@dataclass(frozen=True)
class ToldSheet:
    """A sheet with its lines, what it says as found, as left, and what counts of it last.

    ``left`` holds only what was read after the first pass; ``done_by`` is who told it first.
    """

    fact: CamberToeSheet
    lines: Sequence
    sheet: Sheet
    found: Judged
    left: Judged
    last: Judged
    done_by: Person

    def is_turned(self, name: str) -> bool:
        """Whether something that moves the value was turned: toe is moved by anything."""
        return any(name == TOE or _moves(turn, name) for turn in self.sheet.turns)

    def angle(self, name: str, judged: Judged) -> Measured | None:
        """Return a result as an angle, toe in all; None where it, or its diameter, is not told."""
        result = judged.results.get(name)
        if result is None or name != TOE:
            return result and Measured(result.value, result.expanded)
        if self.sheet.diameter_mm is None:
            return None
        return toe_angle(result, self.sheet.diameter_mm)


def _moves(turn, name):
    return turn.what == SLEEVE and name in (f"camber {turn.at}", SIDE_TO_SIDE)


def toe_angle(result: Result, diameter_mm: float) -> Measured:
    """Return a toe as the angle between both wheels; the uncertainty at no toe is its largest."""
    each = (toe_total_deg(mm, diameter_mm) for mm in (result.value, result.expanded))
    return Measured(*each)


def sheets_within(cut: Cut, carts: Iterable):
    """Return the sheets of carts that stand within a cut, newest first."""
    facts = CamberToeSheet.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    found = facts.filter(cart_id__in=[cart.pk for cart in carts])
    return found.order_by("-done_at", "-id").select_related("by", "site", "cart")


def told_sheets(facts: Iterable[CamberToeSheet]) -> list[ToldSheet]:
    """Return facts as whole sheets, in their order; a constant number of queries."""
    facts = list(facts)
    lines = CamberToePart().lines_of([fact.pk for fact in facts]) if facts else {}
    by = done_by(facts)
    return [_told(fact, lines.get(fact.pk, []), by[fact.pk]) for fact in facts]


def done_by(facts: Sequence[CamberToeSheet]) -> dict:
    """Return {sheet id: who told it first}: a correction is by who corrected."""
    told = {key: one.by_id for key, one in first_tellings(facts).items()}
    people = Person.objects.in_bulk(set(told.values())) if told else {}
    return {fact.pk: people[told[fact.pk]] if fact.pk in told else fact.by for fact in facts}


def _told(fact, lines, by) -> ToldSheet:
    sheet = sheet_of(fact, lines)
    found, left = (judge_stage(sheet, stage) for stage in (FOUND, LEFT_AS))
    return ToldSheet(fact, lines, sheet, found, left, judge(sheet), by)


def newest(facts, most: int) -> tuple[list[CamberToeSheet], bool]:
    """Return the newest of facts in order, and whether there are more of them."""
    taken = list(facts[: most + 1])
    return taken[:most], len(taken) > most
