"""The square codes on plates. Pure: segno, no Django."""

from xml.sax.saxutils import escape

import segno

QUIET_MODULES = 4  # ISO/IEC 18004: the light margin that a reader needs
LONGEST_CHARS = 400  # a plate of 50 mm stays readable below this; common practice, no source


def qr_svg(content: str, *, title: str) -> str:
    """Return an SVG image of the QR code that holds ``content``.

    Width and height are left to the page; one unit of the view box is one module.
    Error correction is level Q: a quarter of the code may be scratched or dirty
    (ISO/IEC 18004). ``title`` is what a screen reader says.

    Raises ValueError for empty content, or more than 400 characters of it.
    """
    if not 0 < len(content) <= LONGEST_CHARS:
        raise ValueError(f"content must have 1 to {LONGEST_CHARS} characters, not {len(content)}")
    code = segno.make(content, error="q", micro=False)
    drawing = code.svg_inline(
        border=QUIET_MODULES, omitsize=True, light="#fff", svgclass="qr", lineclass=None
    )
    head, body = drawing.split(">", 1)
    return f'{head} role="img" shape-rendering="crispEdges"><title>{escape(title)}</title>{body}'
