"""Says what is not recorded yet of work that is gathered over several rounds."""

from collections.abc import Collection

from fleet.kinds import register


def missing_words(pieces: Collection[str]) -> list[str]:
    """Return the pieces of work in words, in the order in which the apps list them."""
    known = [str(words) for piece, words in register.pieces.items() if piece in pieces]
    return known + sorted(piece for piece in pieces if piece not in register.pieces)
