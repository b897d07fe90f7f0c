"""What a sheet would bring in, said before it is done: changes, faults, questions, remarks."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID

from fleet.sheets import Fault, Words
from shared.models import Person, Site

MOST_SAID = 500
NEW, CHANGED, UNCHANGED = "new", "changed", "unchanged"
CHECKED_PERCENT = 50


def no_progress(percent: int) -> None:
    """Tell nobody how far the work is."""


@dataclass(frozen=True)
class Bringing:
    """Who brings a sheet in, where and when; ``progress`` is told percents.

    ``accept_questioned``: what is hardly likely is taken as it stands.
    """

    site: Site
    by: Person
    at: datetime
    start_day: date | None = None
    accept_questioned: bool = False
    progress: Callable[[int], None] = no_progress

    @property
    def today(self) -> date:
        return self.site.day(self.at)


@dataclass(frozen=True)
class Told:
    """What one row of a sheet changes, for the preview."""

    line: int
    cart: str
    what: tuple[Words, ...]


@dataclass
class Plan:
    """Everything that follows from a sheet. Nothing of it is written yet.

    ``batches`` gives lists of (fact, lines) in the order to be filed, made anew with each
    call so that a long sheet is never held whole. ``questions`` are values that are hardly
    likely: without a word they stand in the way as faults do. Of each list the first
    MOST_SAID are kept; ``counts`` knows how many there are.
    """

    told: list[Told] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    questions: list[Fault] = field(default_factory=list)
    remarks: list[Words] = field(default_factory=list)
    counts: Counter = field(default_factory=Counter)
    cart_ids: set[UUID] = field(default_factory=set)
    site_values: dict = field(default_factory=dict)
    batches: Callable[[], Iterable[Sequence[tuple]]] = tuple

    def tell(self, state: str, line: int = 0, cart: str = "", *what: Words, rows: int = 1) -> None:
        """Count rows as new, changed or unchanged, and keep what is said of them."""
        self.counts[state] += rows
        if state != UNCHANGED:
            self._keep("told", self.told, [Told(line, cart, what)])

    def refuse(self, faults: Iterable[Fault]) -> bool:
        """Keep what is wrong with a row; True when something is."""
        return self._keep("faults", self.faults, faults)

    def ask(self, questions: Iterable[Fault]) -> bool:
        """Keep what is hardly likely in a row; True when something is."""
        return self._keep("questions", self.questions, questions)

    def remark(self, remark: Words) -> None:
        self._keep("remarks", self.remarks, [remark])

    def _keep(self, name, kept, more):
        more = list(more)
        self.counts[name] += len(more)
        kept.extend(more[: max(0, MOST_SAID - len(kept))])
        return bool(more)

    @property
    def changes_nothing(self) -> bool:
        return not self.counts[NEW] and not self.counts[CHANGED] and not self.site_values

    def stands(self, bringing: Bringing) -> bool:
        """Whether nothing stands in the way of bringing it in."""
        asked = self.counts["questions"] and not bringing.accept_questioned
        return not self.counts["faults"] and not asked


def chunks(rows: Sequence, size: int) -> Iterable[Sequence]:
    """Yield the rows in pieces of a size, the last one shorter."""
    return (rows[start : start + size] for start in range(0, len(rows), size))
