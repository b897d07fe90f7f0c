"""What turned better between two tellings of a part of a round. Pure."""

from collections.abc import Mapping
from typing import NamedTuple

TAG, CALLS, CALLS_NOT = "tag", "called for", "not called for"
TAG_GRADES = {CALLS_NOT: 0, CALLS: 1}


class Turned(NamedTuple):
    """One verdict that reads better now; ``after`` is empty where it is told no more."""

    what: str
    before: str
    after: str


def turned_better(
    before: Mapping[str, str], after: Mapping[str, str], grades: Mapping[str, int]
) -> list[Turned]:
    """Return the verdicts that turned better, in the order of the first telling.

    ``grades`` say how bad each word is: 0 is good, more is worse. A bad verdict that the
    later telling leaves out turned better too. A word without a grade, such as a figure,
    is not compared.
    """
    return [
        Turned(what, word, after.get(what, ""))
        for what, word in before.items()
        if grades.get(word, 0) > _grade(after.get(what), grades, grades.get(word, 0))
    ]


def _grade(word: str | None, grades: Mapping[str, int], otherwise: int) -> int:
    return 0 if word is None else grades.get(word, otherwise)
