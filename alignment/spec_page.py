"""What camber and toe are held to, kit by kit, for the page that lists it. No writes."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext

from alignment import spec_words as words
from alignment.geometry import toe_limit_mm
from alignment.models import AlignmentSpec
from alignment.specs import ALL_CARTS, Figures, figures_of, first_saying, on_at, specs_at
from fleet.kinds import Cut, register
from fleet.models import Cart
from shared.models import Site
from shared.units import shown

MM_AN_INCH = Decimal("25.4")
# common on lifted carts; common practice, no source
TYRES_IN = (18, 20, 22, 23)
USUAL_TYRE_MM = 22 * MM_AN_INCH


@dataclass(frozen=True)
class Tyre:
    """The diameter that most carts stand on; ``is_taken``: none is recorded."""

    mm: Decimal
    is_taken: bool


@dataclass(frozen=True)
class Section:
    """One kit on the page, or with no ``kit_code`` all carts of the site; its ``name`` if known.

    ``angles`` are (tyre, toe limits as an angle); ``law`` is what 49 CFR 570.7(d) would take
    of the maker's toe, empty where none was told; ``flats`` say what one flat does.
    """

    kit_code: str
    name: str
    carts: int
    figures: Figures
    spec: AlignmentSpec | None
    camber: str
    apart: str
    toe: str
    angles: Sequence[tuple[str, str]]
    law: str
    rods: str
    adjusts: str
    flats: Sequence[str]
    tyre: str

    @property
    def is_as_the_site(self) -> bool:
        return self.kit_code != ALL_CARTS and self.spec is None


def sections(site: Site, carts: Sequence[Cart], cut: Cut) -> list[Section]:
    """Return the site's own section and one for each kit, by a constant number of queries."""
    specs = specs_at(site, cut)
    bearing, ever = _bearing(carts, cut)
    common, names = usual_tyre(carts, None), register.kits_of(site, cut)
    return [
        _section(code, names, bearing[code], usual_tyre(bearing[code], common), specs, site.units)
        for code in sorted({ALL_CARTS, *specs, *ever, *names})
    ]


def known_codes(site: Site, carts: Sequence[Cart], cut: Cut) -> set[str]:
    """Return the codes of the site's kits, of those its carts bear or bore, or told of."""
    _now, ever = _bearing(carts, cut)
    return {*ever, *specs_at(site, cut), *register.kits_of(site, cut)} - {ALL_CARTS}


def _bearing(carts, cut):
    """Return {kit code: carts that bear it}, "" for all carts, and the codes ever borne."""
    ids = [cart.pk for cart in carts]
    chapters = [one for source in register.sources for one in source.chapters(ids, cut)]
    on = on_at(chapters, cut)
    bearing = defaultdict(list, {ALL_CARTS: carts})
    for cart in carts:
        if cart.pk in on:
            bearing[on[cart.pk].kit_code].append(cart)
    return bearing, {one.kit_code for one in chapters}


def usual_tyre(carts: Sequence[Cart], otherwise: Tyre | None) -> Tyre:
    """Return the tyre that most of the carts stand on; of equals the smaller."""
    counted = Counter(cart.tyre_mm for cart in carts if cart.tyre_mm)
    if not counted:
        return otherwise or Tyre(USUAL_TYRE_MM, is_taken=True)
    return Tyre(min(counted, key=lambda mm: (-counted[mm], mm)), is_taken=False)


def _section(code, names, carts, tyre, specs, units) -> Section:
    figures, spec = figures_of(specs, code), specs.get(code)
    rods, adjusts = (first_saying(specs, code, name) for name in ("rods", "camber_adjusts"))
    return Section(
        kit_code=code,
        name=names.get(code, ""),
        carts=len(carts),
        figures=figures,
        spec=spec,
        camber=words.camber_band(figures.limits),
        apart=f"{figures.limits.side_to_side_deg:.2f}°",
        toe=words.toe_band(figures.limits, units),
        angles=angles(figures.limits, units),
        law=_law(spec, units) if code and spec else "",
        rods=words.rods(rods) if rods else "",
        adjusts=words.adjusts(adjusts) if adjusts else "",
        flats=words.flats(figures.steering, float(tyre.mm), units),
        tyre=tyre_in_words(tyre, units),
    )


def angles(limits, units) -> list[tuple[str, str]]:
    """Return (tyre, toe limits as an angle) for common tyres: bigger tyres, smaller angle."""
    diameters = [inches * MM_AN_INCH for inches in TYRES_IN]
    return [(_tyre(mm, units), words.toe_angles(limits, float(mm))) for mm in diameters]


def _tyre(mm, units):
    return shown(mm, "length", units, places=0)


def tyre_in_words(tyre: Tyre, units: str) -> str:
    said = (
        gettext("%(tyre)s tyres; none is recorded") if tyre.is_taken else gettext("%(tyre)s tyres")
    )
    return said % {"tyre": _tyre(tyre.mm, units)}


def _law(spec, units):
    """Return what a road vehicle's inspection would take of the maker's toe."""
    if spec.toe_high_mm is None:
        return ""
    makers_mm = float(spec.toe_high_mm)
    said = gettext(
        "49 CFR 570.7(d), on road vehicles in use, takes toe up to 1.5 times the maker’s value, "
        "%(law)s for %(makers)s. No sheet is judged by it."
    )
    law = words.length(toe_limit_mm(makers_mm), units)
    return said % {"law": law, "makers": words.length(makers_mm, units)}


@dataclass(frozen=True)
class Trial:
    """What figures that are not recorded would do."""

    flats: Sequence[str]
    tyre: str
    toe: str
    angles: Sequence[tuple[str, str]]


def trial(values: dict, kit_code: str, carts: Sequence[Cart], units: str, cut: Cut) -> Trial:
    """Return what the figures typed would do on the tyre that most carts of the kit stand on."""
    figures = figures_of({ALL_CARTS: AlignmentSpec(**values)}, ALL_CARTS)
    bearing, _ever = _bearing(carts, cut)
    tyre = usual_tyre(bearing[kit_code], usual_tyre(carts, None))
    return Trial(
        flats=words.flats(figures.steering, float(tyre.mm), units),
        tyre=tyre_in_words(tyre, units),
        toe=words.toe_band(figures.limits, units),
        angles=angles(figures.limits, units),
    )
