"""Lines, shapes and words of a drawing in black and white, as SVG text. Pure.

Points are (x, y) in px of the view box, y down; angles in degrees, plus for clockwise as
seen. Presentation attributes only, so that a strict CSP holds. On a phone the view box is
drawn about as wide as it is, so that words stay at ``TEXT`` px there.
"""

from collections.abc import Callable, Iterable, Sequence
from math import cos, hypot, radians, sin
from xml.sax.saxutils import escape, quoteattr

Point = tuple[float, float]

WIDTH, EDGE = 360, 6
TEXT, LEADING = 13, 17
OUTLINE, THIN = 2.0, 1.0
PAPER, INK = "#fff", "currentColor"
CENTRE_LINE, HIDDEN = "10 3 2 3", "5 4"
# em a letter of a plain sans-serif, on the wide side
EM_A_LETTER, EM_A_BOLD_LETTER = 0.56, 0.61
# XML 1.0, 2.2 leaves these out
FORBIDDEN = [*range(9), 11, 12, *range(14, 32), *range(0xD800, 0xE000), 0xFFFE, 0xFFFF]
ALLOWED = dict.fromkeys(FORBIDDEN)


def svg(parts: Iterable[str], *, height: float, title: str, told: str, key: str) -> str:
    """Return a drawing; ``told`` tells it to who cannot see it, ``key`` begins its ids."""
    name = quoteattr(f"{key}-title {key}-told")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" role="img"'
        f' aria-labelledby={name} font-family="sans-serif">'
        f"<title id={quoteattr(f'{key}-title')}>{_said(title)}</title>"
        f"<desc id={quoteattr(f'{key}-told')}>{_said(told)}</desc>{''.join(parts)}</svg>"
    )


def hatching(key: str, *, apart: float = 5) -> str:
    """Return slanted lines as a filling, to be named by ``hatched``."""
    return (
        f'<defs><pattern id={quoteattr(f"{key}-hatch")} width="{apart}" height="{apart}"'
        ' patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<rect width="{apart}" height="{apart}" fill="{PAPER}"/>'
        f'<path d="M0.5 0V{apart}" stroke="{INK}" stroke-width="{THIN}"/></pattern></defs>'
    )


def hatched(key: str) -> str:
    return f"url(#{key}-hatch)"


def dotting(key: str, *, apart: float = 6) -> str:
    """Return dots as a filling, to be named by ``dotted``."""
    return (
        f'<defs><pattern id={quoteattr(f"{key}-dots")} width="{apart}" height="{apart}"'
        ' patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
        f'<rect width="{apart}" height="{apart}" fill="{PAPER}"/>'
        f'<circle cx="{apart / 2}" cy="{apart / 2}" r="0.9" fill="{INK}"/></pattern></defs>'
    )


def dotted(key: str) -> str:
    return f"url(#{key}-dots)"


def group(parts: Iterable[str], name: str, *, turn: str = "") -> str:
    turned_by = f' transform="{turn}"' if turn else ""
    return f'<g data-part="{name}"{turned_by}>{"".join(parts)}</g>'


def rotation(deg: float, about: Point) -> str:
    return f"rotate({deg:.3f} {about[0]:.2f} {about[1]:.2f})"


def path(d: str, *, width: float = THIN, dash: str = "", fill: str = "none", name: str = "") -> str:
    return f'<path{_named(name)} d="{d}"{_stroke(width, dash, fill)}/>'


def line(start: Point, end: Point, *, width: float = THIN, dash: str = "", name: str = "") -> str:
    return path(f"M{_at(start)}L{_at(end)}", width=width, dash=dash, name=name)


def shape(
    corners: Sequence[Point],
    *,
    width: float = THIN,
    dash: str = "",
    fill: str = PAPER,
    name: str = "",
) -> str:
    return path(f"M{'L'.join(map(_at, corners))}Z", width=width, dash=dash, fill=fill, name=name)


def box(
    middle: Point,
    size: Point,
    *,
    radius: float = 0,
    width: float = THIN,
    dash: str = "",
    fill: str = PAPER,
    name: str = "",
) -> str:
    (x, y), (wide, high) = middle, size
    return (
        f'<rect{_named(name)} x="{x - wide / 2:.2f}" y="{y - high / 2:.2f}" width="{wide:.2f}"'
        f' height="{high:.2f}" rx="{radius:.2f}"{_stroke(width, dash, fill)}/>'
    )


def circle(at: Point, radius: float, *, width: float = THIN, fill: str = PAPER) -> str:
    x, y = at
    return f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{radius:.2f}"{_stroke(width, "", fill)}/>'


def tube(*along: Point, wide: float = 6) -> str:
    """Return a round bar seen from its side, bent at each point: outlines, paper between."""
    d = f"M{'L'.join(map(_at, along))}"
    return (
        f'<path d="{d}" stroke="{INK}" stroke-width="{wide:.1f}" fill="none"/>'
        f'<path d="{d}" stroke="{PAPER}" stroke-width="{wide - 2.4:.1f}" fill="none"/>'
    )


def arc(about: Point, radius: float, start_deg: float, end_deg: float) -> str:
    """Return the path of a round line between two angles from straight up."""
    is_far = int(abs(end_deg - start_deg) > 180)
    start, end = (spoke(about, radius, deg) for deg in (start_deg, end_deg))
    sweep = int(end_deg > start_deg)
    return f"M{_at(start)}A{radius:.2f} {radius:.2f} 0 {is_far} {sweep} {_at(end)}"


def arrow_head(tip: Point, deg: float, *, long: float = 9) -> str:
    """Return a filled head that points ``deg`` from straight up."""
    foot = spoke(tip, long, deg + 180)
    sides = [spoke(foot, long * 0.38, deg + turn) for turn in (90, -90)]
    return path(f"M{_at(tip)}L{_at(sides[0])}L{_at(sides[1])}Z", width=0, fill=INK)


def spoke(about: Point, far: float, deg: float) -> Point:
    """Return the point ``far`` from ``about``, ``deg`` from straight up."""
    return about[0] + far * sin(radians(deg)), about[1] - far * cos(radians(deg))


def turned(point: Point, deg: float, about: Point) -> Point:
    x, y = point[0] - about[0], point[1] - about[1]
    cosine, sine = cos(radians(deg)), sin(radians(deg))
    return about[0] + x * cosine - y * sine, about[1] + x * sine + y * cosine


def between(start: Point, end: Point, share: float) -> Point:
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def apart(start: Point, end: Point) -> float:
    return hypot(end[0] - start[0], end[1] - start[1])


def text(at: Point, words: str, *, anchor: str = "middle", is_bold: bool = False) -> str:
    """Return words on an edge of paper, moved as far as it takes to stay inside the drawing."""
    x = inside(at[0], width_of(words, is_bold=is_bold), anchor)
    weight = ' font-weight="700"' if is_bold else ""
    edge = f' paint-order="stroke" stroke="{PAPER}" stroke-width="4" stroke-linejoin="round"'
    return (
        f'<text x="{x:.1f}" y="{at[1]:.1f}" font-size="{TEXT}"{weight}{edge}'
        f' text-anchor="{anchor}" fill="{INK}">{_said(words)}</text>'
    )


def inside(x: float, wide: float, anchor: str = "middle") -> float:
    """Return the x nearest to ``x`` at which words this wide stay inside the drawing."""
    before = {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
    return max(EDGE + before, min(x, WIDTH - EDGE - (wide - before)))


def width_of(words: str, *, is_bold: bool = False) -> float:
    return len(words) * TEXT * (EM_A_BOLD_LETTER if is_bold else EM_A_LETTER)


def lines_of(words: str, wide: float = WIDTH - 2 * EDGE) -> list[str]:
    """Return words broken into lines no wider than ``wide``; a longer word is broken too."""
    most = max(1, int(wide / (TEXT * EM_A_LETTER)))
    lines: list[str] = []
    for word in words.split():
        pieces = [word[i : i + most] for i in range(0, len(word), most)]
        if lines and len(lines[-1]) + 1 + len(pieces[0]) <= most:
            lines[-1] += f" {pieces.pop(0)}"
        lines += pieces
    return lines


def notes(first_y: float, said: Iterable[str]) -> tuple[list[str], float]:
    """Return lines of words under a drawing, and the y below them."""
    lines = [one for words in said for one in lines_of(words)]
    drawn = [text((WIDTH / 2, first_y + LEADING * row), one) for row, one in enumerate(lines)]
    return drawn, first_y + LEADING * len(lines)


def legend(
    entries: Iterable[tuple[float, str, Callable[[float, float], str]]], first_y: float
) -> tuple[list[str], float]:
    """Return marks with their words in rows, and the y below them.

    An entry is a mark's width, its words, and what draws it from its left end and middle.
    """
    drawn, x, y = [], float(EDGE), first_y + LEADING / 2
    for mark_wide, words, mark in entries:
        wide = mark_wide + 5 + width_of(words)
        if x > EDGE and x + wide > WIDTH - EDGE:
            x, y = float(EDGE), y + LEADING
        drawn += [mark(x, y), text((x + mark_wide + 5, y + 4.5), words, anchor="start")]
        x += wide + 14
    return drawn, y + LEADING


def _said(words: str) -> str:
    return escape(str(words).translate(ALLOWED))


def _named(name):
    return f' data-part="{name}"' if name else ""


def _stroke(width, dash, fill):
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    ink = f' stroke="{INK}" stroke-width="{width:g}"' if width else ""
    return f' fill="{fill}"{ink}{dashes}'


def _at(point: Point) -> str:
    return f"{point[0]:.2f} {point[1]:.2f}"
