"""The last camber and toe sheets of a cart, for the cart's page."""

from dataclasses import dataclass

from alignment import words
from alignment.geometry import toe_total_deg
from alignment.judging import judge_stage
from alignment.models import CamberToeSheet, Stage
from alignment.parts import CamberToePart
from alignment.sheets import judged, sheet_of
from fleet.kinds import Cut
from fleet.tellings import first_tellings

SHEETS_SHOWN = 3


@dataclass(frozen=True)
class Figure:
    """One result for a page: its name, as found, as left, and the last one's verdict."""

    name: str
    found: str
    left: str
    verdict: str
    style: str


def sheets_block(cart, viewer, cut=None):
    """Return the template and context with the cart's last sheets within the cut, newest first."""
    cut = cut or Cut(viewer.at, viewer.at)
    facts = CamberToeSheet.objects.visible_to(viewer).filter(cart_id=cart.pk)
    facts = facts.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    shown = list(facts.order_by("-done_at", "-id").select_related("by")[:SHEETS_SHOWN])
    lines = CamberToePart().lines_of([fact.pk for fact in shown])
    first = first_tellings(shown)
    sheets = [_shown(fact, lines.get(fact.pk, []), first.get(fact.pk, fact).by) for fact in shown]
    return "alignment/cart_sheets.html", {"camber_toe_sheets": sheets, "site": cart.site}


def _shown(fact, lines, done_by):
    final, sheet = judged(fact, lines), sheet_of(fact, lines)
    found, left = (dict(judge_stage(sheet, stage).results) for stage in Stage.values)
    if "side to side" in final.results and {"camber left", "camber right"} & set(left):
        # one wheel may be as found and the other as left
        left["side to side"] = final.results["side to side"]
    return {
        "fact": fact,
        "done_by": done_by,
        "is_corrected": fact.corrects is not None,
        "figures": [_figure(name, (found, left), final, fact) for name in words.NAMES],
        "not_ready": fact.not_ready,
    }


def _figure(name, stages, final, fact):
    verdict = final.results[name].verdict if name in final.results else ""
    found, left = (_in_words(name, results.get(name), fact) for results in stages)
    style = words.VERDICT_STYLES.get(verdict, "")
    return Figure(words.NAMES[name], found, left, words.VERDICTS.get(verdict, ""), style)


def _in_words(name, result, fact):
    if result is None:
        return ""
    text = f"{words.figure(name, result.value)} {words.spread(name, result.expanded)}"
    if name != "toe" or fact.diameter_mm is None:
        return text
    return f"{text}, {toe_total_deg(result.value, float(fact.diameter_mm)):+.2f}°"
