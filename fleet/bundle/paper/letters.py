"""Which characters the print's letters have, and how wide a text is in them.

Read from the TrueType files themselves (ISO/IEC 14496-22: tables head, hhea, hmtx, and
cmap of format 12).
"""

import struct
from functools import cache
from pathlib import Path

FOLDER = Path(__file__).resolve().parent / "fonts"
REGULAR, BOLD = "DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf"
FULL_UNICODE = (3, 10)


class Letters:
    """One font file: ``glyphs`` {character number: glyph}, ``widths`` of glyphs in em."""

    def __init__(self, content: bytes):
        self.content = content
        self.starts = self._starts()
        self.glyphs = self._glyphs(self._full_map())
        self.widths = self._widths()

    def _at(self, form, place):
        return struct.unpack_from(f">{form}", self.content, place)

    def _starts(self):
        (count,) = self._at("H", 4)
        entries = (self._at("4sIII", 12 + 16 * place) for place in range(count))
        return {tag.decode(): start for tag, _sum, start, _length in entries}

    def _full_map(self):
        start = self.starts["cmap"]
        (count,) = self._at("H", start + 2)
        for place in range(count):
            *kind, offset = self._at("HHI", start + 4 + 8 * place)
            if tuple(kind) == FULL_UNICODE:
                return start + offset
        raise ValueError("the font has no map of all of Unicode")

    def _glyphs(self, start):
        (count,) = self._at("I", start + 12)
        glyphs = {}
        for place in range(count):
            first, last, glyph = self._at("III", start + 16 + 12 * place)
            glyphs.update(zip(range(first, last + 1), range(glyph, glyph + last + 1), strict=False))
        return glyphs

    def _widths(self):
        (units,) = self._at("H", self.starts["head"] + 18)
        (count,) = self._at("H", self.starts["hhea"] + 34)
        # each is followed by a bearing; the last width is that of all glyphs after it
        return [width / units for width in self._at("Hh" * count, self.starts["hmtx"])[::2]]

    def width_em(self, character: str) -> float:
        """Return how wide a character is, in em; that of a capital M where it has none."""
        glyph = self.glyphs.get(ord(character), self.glyphs[ord("M")])
        return self.widths[min(glyph, len(self.widths) - 1)]


@cache
def regular() -> Letters:
    return Letters((FOLDER / REGULAR).read_bytes())


@cache
def bold() -> Letters:
    return Letters((FOLDER / BOLD).read_bytes())
