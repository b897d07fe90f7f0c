"""Between what camber and toe belong on a cart, and how they are adjusted. No writes.

What is told for a cart's kit counts, and what is told for all carts of the site. A site's
rule may be stricter than the maker's, never looser: where both give a limit, the stricter of
both counts. A maker's figures are known as far as somebody told them, and no further.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext

from alignment.advice import AT_WHEEL, Rod, Sleeve, Steering
from alignment.models import AlignmentSpec, CamberAdjusts, CamberToeSheet
from alignment.readings import Limits
from fleet.kinds import Chapter, Cut, register
from shared.models import Site

ALL_CARTS = ""
LONGEST_FROM_CHARS = CamberToeSheet._meta.get_field("limits_from").max_length
CAMBER = ("camber_low_deg", "camber_high_deg")
TOE = ("toe_low_mm", "toe_high_mm")
SIDE_TO_SIDE = "side_to_side_deg"


@dataclass(frozen=True)
class Figures:
    """What the carts with a kit are held to, and how they are adjusted.

    ``limits_from`` says in words where the limits are from; ``camber_adjusts`` is one of
    CamberAdjusts, empty where nobody said. ``spec`` is the id of the kit's AlignmentSpec, else of
    the site's, None where neither was told.
    """

    limits: Limits
    limits_from: str
    steering: Steering
    camber_adjusts: str
    spec: UUID | None


@dataclass(frozen=True)
class _Band:
    low: float
    high: float
    source: str


def figures_at(site: Site, kit_code: str, cut: Cut) -> Figures:
    """Return the figures for the carts with a kit ("" for none) within a cut, by one query."""
    return figures_of(specs_at(site, cut, {ALL_CARTS, kit_code}), kit_code)


def specs_at(site: Site, cut: Cut, kit_codes: Iterable[str] | None = None) -> dict:
    """Return {kit code: the spec last told}, "" for the site's own, by one query; None: all."""
    known = AlignmentSpec.objects.known(cut.happened_by, cut.known_by).standing(cut.known_by)
    told = known.filter(site=site).select_related("by")
    if kit_codes is not None:
        told = told.filter(kit_code__in=kit_codes)
    return {spec.kit_code: spec for spec in told.order_by("received_at", "id")}


def figures_of(specs: Mapping[str, AlignmentSpec], kit_code: str) -> Figures:
    """Return the figures for a kit from the specs told: each limit the stricter of both."""
    site = specs.get(ALL_CARTS)
    kit = specs.get(kit_code) if kit_code else None
    default = Limits()
    camber, toe = (_strictest(kit, site, names, default) for names in (CAMBER, TOE))
    apart = _least_apart(kit, site, default)
    limits = Limits(camber.low, camber.high, apart.high, toe.low, toe.high)
    rods, adjusts = (first_saying(specs, kit_code, name) for name in ("rods", "camber_adjusts"))
    return Figures(
        limits=limits,
        limits_from=_from_in_words(camber, apart, toe),
        steering=_steering(rods, adjusts),
        camber_adjusts=adjusts.camber_adjusts if adjusts else "",
        spec=(kit or site).pk if kit or site else None,
    )


def _strictest(kit, site, names, default) -> _Band:
    """Return the band that lies within both; the kit's where the site's leaves it no room."""
    own, common = _band(kit, names), _band(site, names)
    if own is None or common is None:
        return own or common or _Band(*(getattr(default, name) for name in names), _no_source())
    low, high = max(own.low, common.low), min(own.high, common.high)
    if low >= high or (low, high) == (own.low, own.high):
        return own
    return _Band(low, high, _both(own, common))


def _band(spec, names) -> _Band | None:
    """Return the band that a spec gives; None without both ends, or with no room between."""
    low, high = (None if spec is None else getattr(spec, name) for name in names)
    if low is None or high is None or low >= high:
        return None
    return _Band(float(low), float(high), _source(spec))


def _least_apart(kit, site, default) -> _Band:
    """Return how far both sides may differ, as a band from nought."""
    told = [
        _Band(0, float(getattr(spec, SIDE_TO_SIDE)), _source(spec))
        for spec in (kit, site)
        if spec is not None and getattr(spec, SIDE_TO_SIDE) is not None
    ]
    if not told:
        return _Band(0, getattr(default, SIDE_TO_SIDE), _no_source())
    least = min(told, key=lambda band: band.high)
    return least if least is told[0] else _Band(0, least.high, _both(*told))


def first_saying(specs: Mapping[str, AlignmentSpec], kit_code: str, name: str):
    """Return the kit's spec if it says ``name``, else the site's if that does, else None.

    What goes with it is then of one spec: a rod's figures are never put together from two.
    """
    both = (specs.get(code) for code in dict.fromkeys((kit_code, ALL_CARTS)))
    return next((spec for spec in both if spec is not None and getattr(spec, name)), None)


def _steering(rods, adjusts) -> Steering:
    return Steering(
        rod=rods and rod_of(rods),
        sleeve=adjusts and sleeve_of(adjusts),
        rod_height_mm=rods and _float(rods.rod_height_mm),
    )


def rod_of(spec) -> Rod | None:
    """Return a spec's tie rod; None where a figure of it is not told."""
    if None in (spec.rod_pitch_mm, spec.arm_mm) or not (spec.rod_ends and spec.arm):
        return None
    return Rod(
        pitch_mm=float(spec.rod_pitch_mm),
        is_double=spec.rod_ends == AlignmentSpec.Ends.DOUBLE,
        arm_mm=float(spec.arm_mm),
        is_ahead=spec.arm == AlignmentSpec.Arm.AHEAD,
        is_across=spec.rods == AlignmentSpec.Rods.ACROSS,
        right_hand=_right_hand(spec.rod_ends, spec.rod_right_hand),
    )


def sleeve_of(spec) -> Sleeve | None:
    """Return a spec's camber sleeve; None where camber is not adjustable, or not told how."""
    if spec.camber_adjusts != CamberAdjusts.SLEEVE or not spec.sleeve_ends:
        return None
    if None in (spec.sleeve_pitch_mm, spec.knuckle_mm):
        return None
    return Sleeve(
        pitch_mm=float(spec.sleeve_pitch_mm),
        is_double=spec.sleeve_ends == AlignmentSpec.Ends.DOUBLE,
        knuckle_mm=float(spec.knuckle_mm),
        right_hand=_right_hand(spec.sleeve_ends, spec.sleeve_right_hand),
    )


def _right_hand(ends, told) -> str:
    """Return the end with the right-hand thread; a single thread's is the wheel's unless told."""
    if not told and ends == AlignmentSpec.Ends.SINGLE:
        return AT_WHEEL
    return told or ""


def _float(value):
    return None if value is None else float(value)


def _no_source():
    return gettext("common practice, no source")


def _source(spec):
    if spec.kit_code:
        return spec.source
    return gettext("site’s own: %(source)s") % {"source": spec.source}


def _both(own, common):
    return gettext("%(kit)s; stricter: %(site)s") % {"kit": own.source, "site": common.source}


def _from_in_words(camber, apart, toe):
    """Return where the limits are from, each named where they are not all from one place."""
    if camber.source == apart.source == toe.source:
        return camber.source[:LONGEST_FROM_CHARS]
    said = gettext("camber: %(camber)s; side to side: %(apart)s; toe: %(toe)s")
    words = said % {"camber": camber.source, "apart": apart.source, "toe": toe.source}
    return words[:LONGEST_FROM_CHARS]


def kit_code_of(cart_id: UUID, cut: Cut) -> str:
    """Return the code of the kit on a cart within a cut, "" for a plain cart."""
    return kit_codes_of([cart_id], cut).get(cart_id, "")


def kit_codes_of(cart_ids: Iterable[UUID], cut: Cut) -> dict[UUID, str]:
    """Return {cart id: code of the kit on it}, plain carts left out; constant queries."""
    return {cart_id: on.kit_code for cart_id, on in chapters_on(cart_ids, cut).items()}


def chapters_on(cart_ids: Iterable[UUID], cut: Cut) -> dict[UUID, Chapter]:
    """Return {cart id: the lift on it} within a cut; constant queries."""
    ids = list(cart_ids)
    told = [one for source in register.sources for one in source.chapters(ids, cut)]
    return on_at(told, cut)


def on_at(chapters: Iterable[Chapter], cut: Cut) -> dict[UUID, Chapter]:
    """Return {cart id: the lift that is not off} of chapters within a cut."""
    return {one.cart_id: one for one in chapters if not one.is_off_at(cut.happened_by)}
