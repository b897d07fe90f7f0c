"""Signs of figures on a page: a true minus, which reads better than a hyphen. Pure."""

import re

MINUS = "−"
HYPHEN_BEFORE_FIGURE = re.compile(r"(?<![\w-])-(?=[.\d])")


def with_minus(words: str) -> str:
    """Return words with a true minus (U+2212) before each figure that a hyphen stood before."""
    return HYPHEN_BEFORE_FIGURE.sub(MINUS, words)


def signed_deg(deg: float) -> str:
    """Return an angle in degrees to a hundredth, always with its sign: "−0.07°"."""
    # what rounds to nought is not below it
    return with_minus(f"{round(deg, 2) + 0.0:+.2f}°")
