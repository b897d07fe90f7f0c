"""Where a warning label may be: a drawing of the cart from behind its driver. Pure, own.

Ink is the page's (``currentColor``); the place meant differs by its thick frame and its
word, not by colour. Presentation attributes only, so a strict CSP holds.
"""

from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

WIDTH, HEIGHT = 400, 250
MARK = 34


@dataclass(frozen=True)
class Place:
    """A named place with its letter and the middle of its mark in the drawing."""

    letter: str
    name: str
    x: int
    y: int


PLACES = (
    Place("A", "dash, left of the wheel", 74, 118),
    Place("B", "dash, middle", 208, 118),
    Place("C", "dash, right", 302, 118),
    Place("D", "steering column", 132, 152),
    Place("E", "left roof post", 32, 60),
    Place("F", "right roof post", 368, 60),
    Place("G", "left arm rest", 44, 206),
)
CART = (
    # roof, its posts, windscreen
    '<path d="M18 16H382V28H18Z"/><path d="M28 28V170M36 28V170M364 28V170M372 28V170"/>'
    '<path d="M48 36H352V92H48Z" stroke-dasharray="5 4"/>'
    # dash, its tray
    '<path d="M40 96H360V142H40Z"/><path d="M236 142V152H344V142"/>'
    # wheel and column
    '<ellipse cx="132" cy="112" rx="34" ry="28"/><path d="M132 112V176M98 112H166"/>'
    # pedals, seat from behind, arm rests
    '<path d="M104 176h18v16h-18ZM146 176h26v16h-26Z"/>'
    '<path d="M70 200H330V244H70ZM200 200V244"/><path d="M36 192V244M364 192V244"/>'
)


def drawing(title: str, told: str, here: str, chosen: str = "") -> str:
    """Return the cart with its places lettered, as SVG text; the ``chosen`` one is framed.

    ``title`` names the drawing, ``told`` tells it, ``here`` is the word at the chosen place.
    """
    marks = "".join(_mark(place, here if place.name == chosen else "") for place in PLACES)
    return (
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label={quoteattr(title)} '
        'xmlns="http://www.w3.org/2000/svg" fill="none" stroke="currentColor">'
        f"<title>{escape(title)}</title><desc>{escape(told)}</desc>{CART}{marks}</svg>"
    )


def _mark(place: Place, here: str) -> str:
    left, top = place.x - MARK // 2, place.y - 12
    frame = 4 if here else 1.2
    word = _text(place.x, place.y + 26, 12, here) if here else ""
    return (
        f'<g class="label-place label-place-{place.letter}">'
        f'<rect x="{left}" y="{top}" width="{MARK}" height="24" fill="#fff" '
        f'stroke-width="{frame}"/>{_text(place.x, place.y + 5, 15, place.letter)}{word}</g>'
    )


def _text(x: int, y: int, size: int, text: str) -> str:
    return (
        f'<text x="{x}" y="{y}" font-size="{size}" font-weight="700" text-anchor="middle" '
        f'fill="currentColor" stroke="none">{escape(text)}</text>'
    )
