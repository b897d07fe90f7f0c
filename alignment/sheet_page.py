"""One camber and toe sheet as recorded, for its own page. No writes."""

from dataclasses import dataclass
from uuid import UUID

from alignment import before_said, words
from alignment.advice import camber_deg_a_flat, one_rod_mm_a_flat
from alignment.contradictions import contradictions
from alignment.counting import TOE
from alignment.models import CamberAdjusts, CamberToeSheet
from alignment.outcomes import outcome_of
from alignment.passes_said import Pass, passes_of
from alignment.pictures import Drawable, pictures_of
from alignment.readings import ROD, SLEEVE
from alignment.signs import with_minus
from alignment.site_words import wording_of
from alignment.specs import figures_at, kit_code_of
from alignment.told_sheets import ToldSheet, told_sheets
from alignment.values_said import Value, values_of
from fleet.kinds import Cut
from fleet.tellings import last_telling, tellings_of
from shared.models import Photo, Strike


@dataclass(frozen=True)
class SheetPage:
    """All that the page of one sheet says.

    ``again`` is its last telling where it was told again, ``strike`` what took that back.
    ``holds`` are in words why it closed nothing, ``tag`` why it kept the cart out of use,
    ``bent`` where to look for a bent part.
    """

    told: ToldSheet
    before: list[tuple[str, str]]
    tools: list[tuple[str, str]]
    limits: list[tuple[str, str]]
    ended: list[tuple[str, str]]
    passes: list[Pass]
    values: list[Value]
    missing: str
    same_toe: str
    contradictions: list[str]
    pictures: list[str]
    photos: list[Photo]
    holds: list[str]
    tag: str
    bent: str
    again: CamberToeSheet | None
    strike: Strike | None

    @property
    def fact(self) -> CamberToeSheet:
        return self.told.fact


def page_of(fact: CamberToeSheet) -> SheetPage:
    """Return what is recorded of a sheet, and what became of it since."""
    (told,) = told_sheets([fact])
    last, strike = last_telling(fact)
    figures = _figures(fact)
    outcome = outcome_of(fact, told.lines)
    wording = wording_of(told.sheet, fact.site)
    return SheetPage(
        told=told,
        before=list(before_said.before(fact)),
        tools=list(before_said.tools(fact, told.lines)),
        limits=list(before_said.limits(told.sheet.limits, fact, wording)),
        ended=list(before_said.ended(fact, told.sheet)),
        passes=passes_of(told, wording),
        values=values_of(told.sheet, told.last, wording),
        missing=words.begun(words.not_measured(told.last, wording.figure))
        if told.last.missing
        else "",
        same_toe=before_said.same_toe_today(
            told.sheet, told.last.results.get(TOE), fact.cart, wording
        ),
        contradictions=_contradictions(told, figures.steering, wording),
        pictures=pictures_of(_drawable(told, figures, wording)),
        photos=photos_of(fact),
        holds=[with_minus(words.begun(hold.reason)) for hold in outcome.holds],
        tag=with_minus(outcome.tag),
        bent=_bent(told, figures),
        again=last if last.pk != fact.pk else None,
        strike=strike,
    )


def _figures(fact):
    """Return what was known of the kit when the sheet was recorded."""
    cut = Cut(fact.done_at, fact.received_at)
    return figures_at(fact.site, kit_code_of(fact.cart_id, cut), cut)


def _adjusts(told, figures):
    return told.fact.camber_adjusts or figures.camber_adjusts


def _bent(told, figures):
    """Return where to look for a bent part: at what is outside and cannot be turned."""
    names = [name for name in told.last.outside if name != TOE]
    is_adjustable = _adjusts(told, figures) != CamberAdjusts.NOT
    return "" if is_adjustable or not names else words.look_for_part(names)


def _drawable(told, figures, wording):
    adjusts = _adjusts(told, figures)
    return Drawable(told.sheet, told.last, told.lines, figures.steering, adjusts, wording)


def _contradictions(told, steering, wording) -> list[str]:
    gains = {}
    if steering.sleeve:
        gains[SLEEVE] = camber_deg_a_flat(steering.sleeve)
    if steering.rod and told.sheet.diameter_mm:
        gains[ROD] = one_rod_mm_a_flat(steering.rod, told.sheet.diameter_mm)
    found = contradictions(told.sheet, gains=gains)
    return [words.begun(words.contradiction(one, wording.change)) for one in found]


def photos_of(fact: CamberToeSheet) -> list[Photo]:
    """Return the photos of a sheet, those of its earlier tellings with them."""
    told: set[UUID] = {one.pk for one in tellings_of(fact)}
    photos = Photo.objects.filter(about__in=told, site=fact.site)
    return list(photos.order_by("done_at", "id"))
