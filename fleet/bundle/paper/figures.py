"""The figures: what is counted on the day and in cart-days side by side, then the others."""

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.bundle.paper.blocks import Grid, Heading, Wide, Words
from fleet.bundle.paper.reading import rows_of
from fleet.bundle.paper.report_layouts import FIGURES, FOUND_LOOSE

STATES = {
    "tagged": gettext_lazy("tagged"),
    "stopped": gettext_lazy("stopped"),
    "late": gettext_lazy("late"),
    "leeway": gettext_lazy("within leeway"),
    "on_time": gettext_lazy("on time"),
}
OF_STATE = ("carts_{}_all", "cart_days_{}_all", "carts_{}_lifted", "cart_days_{}_lifted")
IN_ALL = ("carts", "cart_days_all", "carts_lifted", "cart_days_lifted")
COLUMNS = (
    Wide(gettext_lazy("State"), 26),
    Wide(gettext_lazy("All carts, on the day"), 22, is_number=True),
    Wide(gettext_lazy("All carts, cart-days"), 22, is_number=True),
    Wide(gettext_lazy("Lifted carts, on the day"), 22, is_number=True),
    Wide(gettext_lazy("Lifted carts, cart-days"), 22, is_number=True),
    Wide(gettext_lazy("How it is counted"), 140),
)


def figures(frame):
    told = {row["code"]: row for row in rows_of(frame.tables / FIGURES.file)}
    yield Heading(str(FIGURES.title))
    yield Words(str(FIGURES.about), keeps=True)
    side_by_side = [
        (words, [of.format(state) for of in OF_STATE]) for state, words in STATES.items()
    ]
    side_by_side.append((_("in the fleet"), IN_ALL))
    yield Grid(COLUMNS, [_row(str(words), codes, told) for words, codes in side_by_side])
    shown = {code for _words, codes in side_by_side for code in codes}
    others = [row for code, row in told.items() if code not in shown]
    yield Heading(_("Other figures"), 2)
    yield Words(
        _("Shares of joints found loose stand further on, under “Found loose”."), keeps=True
    )
    yield FIGURES.grid([row for row in others if row["table"] != FOUND_LOOSE.file], frame.zone)


def _row(words, codes, told):
    said = [told.get(code, {"value": "", "definition": ""}) for code in codes]
    return [words, *(figure["value"] for figure in said), said[0]["definition"]]
