"""The code that goes with a surveyor's link: made, shown, spelled out, read back."""

import secrets

# what looks or sounds like another is left out: no 0, 1, I, L, O, U
ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
HALF_CHARS = 5  # two halves: 49 bits
# the spelling alphabet of ICAO Annex 10, volume II
WORDS = "Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel Juliett Kilo Mike November Papa Quebec"
WORDS += " Romeo Sierra Tango Victor Whiskey X-ray Yankee Zulu"
SPELLED = {word[0]: word for word in WORDS.split()}


def new_code() -> str:
    """Return a new code as it is shown: "7KQ4M W9XDA"."""
    chars = [secrets.choice(ALPHABET) for _ in range(2 * HALF_CHARS)]
    return "".join(chars[:HALF_CHARS]) + " " + "".join(chars[HALF_CHARS:])


def plain_code(typed: str) -> str:
    """Return what was typed, as it is compared: without spaces and dashes, in capitals."""
    return "".join(typed.replace("-", " ").split()).upper()


def spelled(code: str) -> str:
    """Return the code for the telephone: "7 Kilo Quebec 4 Mike, Whiskey 9 ...".

    A figure stays a figure; the comma stands between the halves.
    """
    halves = [[SPELLED.get(char, char) for char in half] for half in code.split()]
    return ", ".join(" ".join(half) for half in halves)
