"""The part to turn, drawn, and which way in words. No writes."""

from django.utils.safestring import mark_safe
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment import part_drawing
from alignment.advice import AT_MIDDLE, AT_WHEEL, LONGER, SHORTER, clockwise, way
from alignment.by_rule import by_rule
from alignment.correcting import ACROSS
from alignment.counting import TOE
from alignment.flats_said import turns_said

WAYS = {LONGER: _("longer"), SHORTER: _("shorter")}
ROUND = {1: _("clockwise"), -1: _("anticlockwise")}
SHOWS = {
    (LONGER, False): _("more thread shows"),
    (SHORTER, False): _("less thread shows"),
    (LONGER, True): _("more thread shows at both ends"),
    (SHORTER, True): _("less thread shows at both ends"),
}
ENDS = {
    AT_WHEEL: _("That is with the right-hand thread at the wheel end; else turn it the other way."),
    AT_MIDDLE: _(
        "That is with the right-hand thread at the end towards the middle of the cart; "
        "else turn it the other way."
    ),
    "": _("Which end has the right-hand thread is not told, so which way to turn is not either."),
}
ARMS = {
    True: _("Steering arms ahead of the axle: longer is less toe-in."),
    False: _("Steering arms behind the axle: longer is more toe-in."),
}


def way_said(name, at, flats, steering, wording):
    """Yield which way to turn a rod or sleeve, by which thread, and what a rule then shows."""
    part = _part(name, steering)
    if part is None or not flats:
        return
    yield _turned(part, at, flats)
    if at != ACROSS:
        yield str(ENDS[part.right_hand])
    if name == TOE:
        yield str(ARMS[part.is_ahead])
        yield by_rule(flats, part, wording)


def _part(name, steering):
    return steering.rod if name == TOE else steering.sleeve


def _turned(part, at, flats):
    said = {"way": WAYS[way(flats)], "shows": SHOWS[way(flats), part.is_double]}
    turned = clockwise(flats, _right_hand(part, at))
    if not turned:
        return gettext("To get it %(way)s: %(shows)s.") % said
    said |= {"from": _seen_from(at), "round": ROUND[turned]}
    return gettext("Turn it %(round)s, %(from)s: %(way)s, %(shows)s.") % said


def _right_hand(part, at):
    """Return the end that is looked from: a rod across has no wheel end, only a right-hand one."""
    return AT_WHEEL if at == ACROSS else part.right_hand


def _seen_from(at):
    if at == ACROSS:
        return gettext("seen from its right-hand-thread end")
    return gettext("seen from the wheel")


def drawn(name, at, flats, title, steering):
    """Return the tie rod or sleeve with its flats; empty where its figures are not told."""
    is_rod, part = name == TOE, _part(name, steering)
    if part is None or not flats:
        return ""
    draw = part_drawing.rod_drawing if is_rod else part_drawing.sleeve_drawing
    picture = draw(
        flats,
        is_double=part.is_double,
        right_hand=_right_hand(part, at),
        words=_part_words(part, at, title, flats, is_rod=is_rod),
        key=f"turn-{'rod' if is_rod else 'sleeve'}-{at}",
    )
    # made by this server alone, its words escaped
    return mark_safe(picture)


def _part_words(part, at, title, flats, *, is_rod):
    turns, beyond = turns_said(flats)
    is_seen = bool(_right_hand(part, at))
    return part_drawing.Words(
        title=gettext("Tie rod") if is_rod else gettext("Camber sleeve"),
        told=title,
        longer=gettext("longer"),
        shorter=gettext("shorter"),
        turn=beyond,
        seen_from=_seen_from(at) if is_seen else str(SHOWS[way(flats), part.is_double]),
        whole_turns=turns,
        jam_nut=gettext("jam nut"),
        thread=gettext("right-hand thread"),
        other_thread=gettext("left-hand thread"),
    )
