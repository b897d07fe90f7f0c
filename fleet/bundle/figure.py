"""One figure of the bundle: what it says, in which unit, and how it is defined."""

from typing import NamedTuple

from django.utils.translation import gettext_lazy as _

NOT_RECORDED = "not recorded"


class Figure(NamedTuple):
    """``low`` and ``high`` hold a share between them; ``table`` lists what was counted."""

    code: str
    title: str
    value: object
    unit: str
    definition: str
    table: str = ""
    low: object = None
    high: object = None


class LineCount:
    """A figure that is the number of lines of one table."""

    def __init__(self, code, title, table, definition):
        self.said = (code, title, definition, table)

    def __call__(self, scope):
        return self

    def take(self, batch):
        """Take nothing: the table was written line by line."""

    def figures(self, lines):
        code, title, definition, table = self.said
        yield Figure(code, title, lines[table], "", definition, table)


class NotRecorded:
    """A figure that is asked for and that nothing recorded here can tell."""

    def __init__(self, code, title, what_is_missing):
        self.said = (code, title, what_is_missing)

    def __call__(self, scope):
        return self

    def take(self, batch):
        """Take nothing: there is nothing to count."""

    def figures(self, lines):
        code, title, what_is_missing = self.said
        yield Figure(code, title, _(NOT_RECORDED), "", what_is_missing)
