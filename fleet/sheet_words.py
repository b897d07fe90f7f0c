"""Sentences of the sheet reader: said in English, or through any translation. Pure.

The templates are collected for translation by the name ``gettext_noop``.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

SHOWN_CHARACTERS = 80


def gettext_noop(template: str) -> str:
    """Mark a template for translation and leave it as it is."""
    return template


@dataclass(frozen=True)
class Words:
    """A %-template and what goes into it; ``str()`` says it in English."""

    template: str
    values: Mapping[str, object] = field(default_factory=dict)

    def said(self, translate: Callable[[str], str] = str) -> str:
        """Return the sentence, each template of it passed through ``translate``."""
        filled = {
            name: value.said(translate) if isinstance(value, Words) else value
            for name, value in self.values.items()
        }
        return translate(self.template) % filled

    def __str__(self) -> str:
        return self.said()


class SheetError(ValueError):
    """The file as a whole cannot be read; ``words`` says why and what to do."""

    def __init__(self, template: str, **values: object) -> None:
        self.words = Words(template, values)
        super().__init__(str(self.words))


class WrongCell(ValueError):
    """One cell cannot be read; ``accepted`` says what would be."""

    def __init__(self, template: str, **values: object) -> None:
        self.accepted = Words(template, values)
        super().__init__(str(self.accepted))


@dataclass(frozen=True)
class Fault:
    """One wrong cell: where it stands, what is in it, what would be accepted there.

    ``line`` is the line as seen in the file; ``column`` is the heading as written there.
    """

    line: int
    column: str
    value: str
    accepted: Words

    def said(self, translate: Callable[[str], str] = str) -> str:
        """Return the fault as one sentence."""
        shown = {**vars(self), "value": self.value or translate(EMPTY)}
        return Words(FAULT, shown).said(translate)

    def __str__(self) -> str:
        return self.said()


EMPTY = gettext_noop("(empty)")
FAULT = gettext_noop('Line %(line)d, column "%(column)s": %(value)s. Accepted: %(accepted)s.')


def shown(text: str) -> str:
    """Return the text on one line, cut to a length fit for a message."""
    line = " ".join(text[: SHOWN_CHARACTERS * 4].split())
    return line if len(line) <= SHOWN_CHARACTERS else line[: SHOWN_CHARACTERS - 1] + "…"
