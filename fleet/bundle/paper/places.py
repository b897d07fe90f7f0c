"""Where in print the rows of a table stand."""

from django.utils.translation import gettext as _

from fleet.bundle.paper import report_layouts
from fleet.bundle.paper.carts import LIFTED
from fleet.bundle.paper.chapters import FILES
from fleet.bundle.paper.exceptions_layouts import EXCEPTIONS

IN_REPORT = (
    *EXCEPTIONS,
    report_layouts.FIGURES,
    report_layouts.QUESTIONS,
    report_layouts.RULES,
    report_layouts.RULE_CHANGES,
    *report_layouts.OF_SITE,
    *report_layouts.OF_LIFTS,
)


def place_of(file: str) -> str:
    """Return where a table is printed; nothing where it is in the tables alone."""
    words = [_("report: %s") % one.title for one in IN_REPORT if one.file == file]
    if file in FILES:
        words.append(_("chapter of the cart"))
    if file == LIFTED.file:
        words = [_("register")]
    return "; ".join(words)
