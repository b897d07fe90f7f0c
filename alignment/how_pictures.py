"""How camber and toe are read, drawn with its words: for the sheet. No writes."""

from django.utils.safestring import mark_safe
from django.utils.translation import gettext

from alignment.how_drawing import SquareWords, TapeWords, square_view, tape_view


def how_to_read() -> list[str]:
    """Return where the square stands and where the tape runs, as two drawings."""
    # made by this server alone, its words escaped
    return [mark_safe(square_view(_square())), mark_safe(tape_view(_tape()))]


def _square():
    return SquareWords(
        title=gettext("Camber by a square: a front wheel seen from the front, cut through"),
        told=gettext(
            "The square stands upright on the floor, outside the wheel. Read the gap from it "
            "to the rim at the top and at the bottom, and the height between the two."
        ),
        top=gettext("gap at top"),
        bottom=gettext("gap at bottom"),
        between=gettext("height between"),
        square=gettext("square on the floor"),
        rim=gettext("rim"),
        tyre=gettext("tyre"),
        cart=gettext("to the cart"),
        notes=[
            gettext("Seen from the front. To the rim, not the tyre."),
            gettext("Bigger gap at top = top leans in = minus."),
        ],
    )


def _tape():
    return TapeWords(
        title=gettext("Toe by a tape: the front axle seen from above"),
        told=gettext(
            "The tape runs level at hub height between the lines scribed on both tyres, once "
            "at the front of the tyres and once at their rear."
        ),
        front=gettext("front of the cart"),
        front_tape=gettext("tape, front"),
        rear_tape=gettext("tape, rear"),
        notes=[
            gettext("Seen from above. Tape level, at hub height."),
            gettext("Rear less front: plus = toe-in (front closer)."),
        ],
    )
