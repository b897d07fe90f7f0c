"""A plan as plain JSON, kept with its import run and said again in any language."""

from collections.abc import Callable
from dataclasses import dataclass

from fleet.sheets import Fault, Sheet, Words

PLAIN = (str, int, bool, type(None))


def report_of(plan, sheet: Sheet) -> dict:
    """Return what a plan says, as plain JSON."""
    return {
        "ignored": list(sheet.ignored),
        "found": [packed(words) for words in sheet.found()],
        "told": [
            {"line": one.line, "cart": one.cart, "what": [packed(words) for words in one.what]}
            for one in plan.told
        ],
        "faults": [_packed_fault(fault) for fault in plan.faults],
        "questions": [_packed_fault(fault) for fault in plan.questions],
        "remarks": [packed(words) for words in plan.remarks],
        "counts": dict(plan.counts),
        "changes_nothing": plan.changes_nothing,
    }


def _packed_fault(fault: Fault) -> dict:
    return {**vars(fault), "accepted": packed(fault.accepted)}


def packed(words: Words) -> dict:
    """Return a sentence as plain JSON."""
    return {
        "template": words.template,
        "values": {name: _packed_value(value) for name, value in words.values.items()},
    }


def _packed_value(value):
    if isinstance(value, Words):
        return packed(value)
    return value if isinstance(value, PLAIN) else str(value)


def unpacked(kept: dict) -> Words:
    values = kept["values"].items()
    return Words(
        kept["template"],
        {name: unpacked(value) if isinstance(value, dict) else value for name, value in values},
    )


@dataclass(frozen=True)
class Report:
    """A kept report, said through a translation."""

    kept: dict
    translate: Callable[[str], str] = str

    def _all(self, name):
        return [unpacked(words).said(self.translate) for words in self.kept.get(name, ())]

    @property
    def error(self) -> str:
        """Return why the file could not be read at all; empty when it could."""
        error = self.kept.get("error")
        return unpacked(error).said(self.translate) if error else ""

    @property
    def found(self) -> list[str]:
        return self._all("found")

    @property
    def ignored(self) -> list[str]:
        """Return the headings that are not read."""
        return self.kept.get("ignored", [])

    @property
    def remarks(self) -> list[str]:
        return self._all("remarks")

    @property
    def told(self) -> list[dict]:
        """Return the rows that change something: line, cart, and what."""
        return [
            {**row, "what": [unpacked(words).said(self.translate) for words in row["what"]]}
            for row in self.kept.get("told", ())
        ]

    @property
    def faults(self) -> list[dict]:
        """Return what is wrong: line, column, value, and what would be accepted."""
        return self._cells("faults")

    @property
    def questions(self) -> list[dict]:
        return self._cells("questions")

    def _cells(self, name):
        return [
            {**cell, "accepted": unpacked(cell["accepted"]).said(self.translate)}
            for cell in self.kept.get(name, ())
        ]

    def sentences(self, name) -> list[str]:
        """Return the faults or the questions, each as one sentence."""
        faults = (
            Fault(**{**cell, "accepted": unpacked(cell["accepted"])})
            for cell in self.kept.get(name, ())
        )
        return [fault.said(self.translate) for fault in faults]

    @property
    def counts(self) -> dict:
        """Return how many rows are new, changed, unchanged; faults, questions, remarks."""
        names = ("new", "changed", "unchanged", "told", "faults", "questions", "remarks")
        return {name: self.kept.get("counts", {}).get(name, 0) for name in names}

    @property
    def changes_nothing(self) -> bool:
        return self.kept.get("changes_nothing", False)

    def more(self, name) -> int:
        """Return how many of a list were not kept."""
        return self.counts[name] - len(self.kept.get(name, ()))
