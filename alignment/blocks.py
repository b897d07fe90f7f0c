"""The last camber and toe sheets of a cart, for the cart's page."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from alignment import words
from alignment.models import CamberToeSheet
from alignment.site_words import wording_of
from alignment.tables_sheets import said, sheet_url
from alignment.told_sheets import ToldSheet, newest, sheets_within, told_sheets
from alignment.verdict_marks import style_of
from fleet.kinds import Cut

SHEETS_SHOWN = 3


@dataclass(frozen=True)
class Figure:
    """One value that counts last for the cart's page: its name, its figure, its verdict."""

    name: str
    figure: str
    verdict: str
    style: str


@dataclass(frozen=True)
class Shown:
    """A sheet on the cart's page; ``missing`` are in words the values that it lacks."""

    told: ToldSheet
    figures: list[Figure]
    missing: str
    url: str

    @property
    def fact(self):
        return self.told.fact


def sheets_block(cart, viewer, cut=None):
    """Return the template and context with the cart's last sheets within the cut, newest first."""
    within = cut or Cut.known_now(viewer.at)
    facts, has_more = newest(sheets_within(within, [cart]).visible_to(viewer), SHEETS_SHOWN)
    sheets = [_shown(told, cart.site) for told in told_sheets(facts)]
    return "alignment/cart_sheets.html", {
        "camber_toe_sheets": sheets,
        "has_more": has_more,
        "is_past": cut is not None,
        "cart": cart,
        "site": cart.site,
    }


def sheet_leads(row, viewer):
    """Yield (title, url) of the sheet that a round recorded."""
    for fact in CamberToeSheet.objects.visible_to(viewer).filter(round=row).select_related("site"):
        yield _("Camber and toe as recorded"), sheet_url(fact)


def _shown(told, site) -> Shown:
    wording = wording_of(told.sheet, site)
    missing = words.not_measured(told.last, wording.figure) if told.last.missing else ""
    return Shown(told, figures_of(told, wording), missing, sheet_url(told.fact))


def figures_of(told, wording) -> list[Figure]:
    return [
        Figure(
            words.begun(str(words.NAMES[name])),
            said(name, told.last, told.sheet, wording),
            words.VERDICTS[result.verdict],
            style_of(told.sheet, name, result),
        )
        for name, result in told.last.results.items()
    ]
