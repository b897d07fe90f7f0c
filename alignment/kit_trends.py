"""How the carts with a kit measure: their sheets drawn, shares, what flats did. No writes."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext

from alignment import words
from alignment.advice import Steering, camber_deg_a_flat, toe_mm_a_flat
from alignment.breaks import breaks_of
from alignment.counting import CAMBERS, TOE
from alignment.kit_lists import Listed, inside_but_open, listed, moved_carts
from alignment.learning import OF_KIT, Learnt, learn, moved_other_way
from alignment.learnt import learnt
from alignment.other_way import other_way_said
from alignment.site_words import Wording
from alignment.spec_page import usual_tyre
from alignment.specs import chapters_on, figures_at
from alignment.told_sheets import MOST_SHEETS, ToldSheet, newest, sheets_within, told_sheets
from alignment.trend_pictures import camber_drawing, toe_drawing
from alignment.uncertainty import CANT_TELL, OUTSIDE
from fleet.kinds import Cut
from fleet.models import Cart
from fleet.shares import score_interval
from shared.models import Site

PERCENT = 100
TOLD = (OUTSIDE, CANT_TELL)


@dataclass(frozen=True)
class Share:
    """Of the carts on which a value was found: how many outside, how many can't be told."""

    name: str
    outside: str
    unsure: str


@dataclass(frozen=True)
class Measured:
    """What the page says of the carts with a kit; ``lasts`` are their newest sheets."""

    carts: int
    sheets: Sequence[ToldSheet]
    lasts: Sequence[ToldSheet]
    is_cut: bool
    camber: str
    toe: str
    shares: Sequence[Share]
    moved: Sequence[Listed]
    outside: Sequence[Listed]
    unsure: Sequence[Listed]
    left_open: Sequence[Listed]
    gains: Sequence[str]


def measured(site: Site, carts: Sequence[Cart], code: str, cut: Cut) -> Measured:
    """Return how the carts that bear a kit measure with it on, or with no code all carts.

    Of the newest MOST_SHEETS sheets; a constant number of queries.
    """
    borne, sheets, is_cut = _sheets(site, carts, code, cut)
    lasts, by_time = last_of_each(sheets), sheets[::-1]
    return Measured(
        carts=len(borne),
        sheets=sheets,
        lasts=lasts,
        is_cut=is_cut,
        camber=camber_drawing(by_time, site, found_only=True),
        toe=toe_drawing(by_time, site, found_only=True),
        shares=list(shares(lasts)),
        moved=list(moved_carts(sheets, breaks_of([cart.pk for cart in borne], cut))),
        outside=list(listed(lasts, OUTSIDE)),
        unsure=list(listed(lasts, CANT_TELL)),
        left_open=list(inside_but_open(lasts)),
        gains=list(_gains(site, borne, code, cut)) if code and borne else [],
    )


def _gains(site, borne, code, cut):
    steering = figures_at(site, code, cut).steering
    seen = learnt(borne[0], code, cut, steering=steering)
    return gains_said(seen, steering, borne, Wording(str(site.units)))


def _sheets(site, carts, code, cut):
    """Return the carts in question, their sheets newest first, and whether there are more."""
    on = chapters_on([cart.pk for cart in carts], cut) if code else {}
    borne = [cart for cart in carts if not code or cart.pk in _with(on, code)]
    facts, is_cut = newest(sheets_within(cut, borne).filter(site=site), MOST_SHEETS)
    since = {cart_id: one.earliest(site.zone) for cart_id, one in on.items()}
    of_kit = [fact for fact in facts if not code or fact.done_at >= since[fact.cart_id]]
    return borne, told_sheets(of_kit), is_cut


def _with(on, code):
    return {cart_id for cart_id, one in on.items() if one.kit_code == code}


def last_of_each(newest_first: Iterable[ToldSheet]) -> list[ToldSheet]:
    """Return the newest sheet of each cart, by the carts' numbers."""
    lasts = {}
    for told in newest_first:
        lasts.setdefault(told.fact.cart_id, told)
    return sorted(lasts.values(), key=lambda told: told.fact.cart.number)


def shares(lasts: Sequence[ToldSheet]) -> Iterator[Share]:
    """Yield of each value how often it was found outside, and not to be told: one a cart."""
    for name, title in words.NAMES.items():
        found = [told.found.results[name].verdict for told in lasts if name in told.found.results]
        if found:
            outside, unsure = (share_said(found.count(one), len(found)) for one in TOLD)
            yield Share(words.begun(str(title)), outside, unsure)


def share_said(count: int, of: int) -> str:
    """Return a share with its 95 % score interval."""
    low, high = (round(PERCENT * end) for end in score_interval(count, of))
    said = {"count": count, "of": of, "share": round(PERCENT * count / of)}
    return gettext("%(count)s of %(of)s: %(share)s %% (%(low)s to %(high)s %%)") % {
        **said,
        "low": low,
        "high": high,
    }


def gains_said(
    seen: Learnt, steering: Steering, carts: Sequence[Cart], wording: Wording
) -> Iterator[str]:
    """Yield what a flat does by the formula, and what flats did on the carts with the kit."""
    if steering.rod is not None:
        tyre_mm = float(usual_tyre(carts, None).mm)
        flat = wording.change("toe", toe_mm_a_flat(steering.rod, tyre_mm))
        formula = gettext("Tie rods, a flat longer: toe %(flat)s by the formula, at %(tyre)s.")
        said = formula % {"flat": flat, "tyre": wording.diameter(tyre_mm)}
        yield f"{said} {learned_said(seen.rod_kit)}"
        yield from _other_way(seen.rod_kit, TOE)
    if steering.sleeve is not None:
        flat = wording.change("camber left", camber_deg_a_flat(steering.sleeve))
        formula = gettext("Camber sleeve, a flat longer: camber %s by the formula.")
        yield f"{formula % flat} {learned_said(seen.sleeve_kit)}"
        yield from _other_way(seen.sleeve_kit, CAMBERS[0])


def _other_way(seen, name):
    against = moved_other_way(seen, OF_KIT)
    if against is not None:
        yield other_way_said(against, name)


def learned_said(seen) -> str:
    """Return the share of the formula that clear turns did, with its range."""
    learned = learn(seen)
    if learned is None:
        return gettext("No turn on these carts was clear enough to learn from.")
    if learned.count == 1:
        return gettext("One clear turn did %s of it.") % f"{learned.share:.2f}"
    said = gettext("Clear turns did %(share)s of it (%(low)s to %(high)s, %(count)s turns).")
    return said % {
        "share": f"{learned.share:.2f}",
        "low": f"{learned.low:.2f}",
        "high": f"{learned.high:.2f}",
        "count": learned.count,
    }
