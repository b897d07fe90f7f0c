"""The part to turn, drawn, and which way in words. No writes."""

from django.utils.safestring import mark_safe
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment import part_drawing
from alignment.advice import LONGER, way
from alignment.correcting import ACROSS
from alignment.counting import TOE
from alignment.flats_said import turns_said

# clockwise from the wheel a right-hand thread there is screwed off: longer
LONGER_SAID = _("Seen from the wheel, turn clockwise: longer, more thread shows.")
SHORTER_SAID = _("Seen from the wheel, turn anticlockwise: shorter, less thread shows.")
AT_WHEEL = _("That is with the right-hand thread at the wheel end; else turn it the other way.")
AT_EITHER = _("Look from the end that has the right-hand thread.")


def way_said(at, flats):
    """Yield which way to turn a rod or sleeve, and with which thread that is so."""
    if flats:
        yield str(LONGER_SAID if way(flats) == LONGER else SHORTER_SAID)
        yield str(AT_EITHER if at == ACROSS else AT_WHEEL)


def drawn(name, at, flats, title, steering):
    """Return the tie rod or sleeve with its flats; empty where its figures are not told."""
    is_rod = name == TOE
    part = steering.rod if is_rod else steering.sleeve
    if part is None or not flats:
        return ""
    draw = part_drawing.rod_drawing if is_rod else part_drawing.sleeve_drawing
    picture = draw(
        flats,
        is_double=part.is_double,
        words=_part_words(is_rod, title, flats),
        key=f"turn-{'rod' if is_rod else 'sleeve'}-{at}",
    )
    # made by this server alone, its words escaped
    return mark_safe(picture)


def _part_words(is_rod, title, flats):
    turns, beyond = turns_said(flats)
    return part_drawing.Words(
        title=gettext("Tie rod") if is_rod else gettext("Camber sleeve"),
        told=title,
        longer=gettext("longer"),
        shorter=gettext("shorter"),
        turn=beyond,
        seen_from=gettext("seen from the wheel"),
        whole_turns=turns,
        jam_nut=gettext("jam nut"),
        thread=gettext("right-hand thread"),
        other_thread=gettext("left-hand thread"),
    )
