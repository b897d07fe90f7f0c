"""Recorded text made printable: every character shown, no word wider than its column."""

import unicodedata

from fleet.bundle.paper.letters import bold, regular

# they join and part letters of scripts, and show nothing themselves
JOINERS = "\u200c\u200d"
# controls, marks of direction and the like, private, half and unnamed characters
HIDDEN = {"Cc", "Cf", "Co", "Cs", "Cn", "Zl", "Zp"}
MAY_BREAK = "\u200b"
LONGEST = 1000
CLIPPED = " […]"


def printable(text: str) -> str:
    """Return the text with each character that cannot be shown as its number: "[U+6F22]"."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
    return "".join(letter if is_shown(letter) else f"[U+{ord(letter):04X}]" for letter in lines)


def is_shown(letter: str) -> bool:
    if letter in JOINERS or letter == "\n":
        return True
    if unicodedata.category(letter) in HIDDEN:
        return False
    return ord(letter) in regular().glyphs and ord(letter) in bold().glyphs


def clipped(text: str) -> str:
    return text if len(text) <= LONGEST else text[:LONGEST] + CLIPPED


def fitted(text: str, width_pt: float, size_pt: float) -> str:
    """Return the text with places to break in each word wider than ``width_pt``."""
    most_em = width_pt / size_pt
    return " ".join(_broken(word, most_em) for word in text.split(" "))


def _broken(word, most_em):
    pieces, left = [""], most_em
    for letter in word:
        width = regular().width_em(letter)
        if width > left and pieces[-1]:
            pieces.append("")
            left = most_em
        pieces[-1] += letter
        left -= width
    return MAY_BREAK.join(pieces)
