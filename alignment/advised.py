"""What to do now with a sheet, in words, with the part to turn drawn."""

from dataclasses import dataclass

from django.utils.safestring import mark_safe
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment import next_step, part_drawing, words
from alignment.correcting import ACROSS, BOTH
from alignment.counting import TOE
from alignment.flats_said import flats_said, turns_said
from alignment.learning import FORMULA, HERE, OF_CART, OF_KIT
from alignment.more_readings import asked
from alignment.values_said import in_all

TITLES = {
    next_step.READ_CAMBER: _("Now read camber: %(names)s"),
    next_step.READ_TOE: _("Now read toe, front and rear"),
    next_step.READ_AGAIN: _("Now read again: %(names)s"),
    next_step.MORE_READINGS: _("Can’t tell yet: read more often"),
    next_step.SAY_ADJUSTS: _("Camber is off. How is camber adjusted on this cart?"),
    next_step.TURN_SLEEVE: _("Now turn the camber sleeve, then read camber again"),
    next_step.TURN_ROD: _("Now turn the tie rods, then read toe again"),
    next_step.DRIVE: _("Now tighten the jam nuts and drive it, then read both again"),
    next_step.LOOK_FOR_PART: _("Camber is not adjustable: look for a bent or worn part"),
    next_step.LEFT_OPEN: _("Measured, can’t tell: %(names)s"),
    next_step.DONE: _("Done: all inside"),
}
AT = {
    "left": _("Left: %(flats)s"),
    "right": _("Right: %(flats)s"),
    BOTH: _("Both sides alike: %(flats)s each"),
    ACROSS: _("The rod across: %(flats)s"),
}
WHEEL = {
    next_step.KEEPS_WHEEL: _("Turned alike on both sides, the steering wheel stays straight."),
    next_step.BY_DRAG_LINK: _("The steering wheel is centred at the drag link, not here."),
}
SOURCES = {
    HERE: _("as the last turn on this sheet did"),
    OF_CART: _("as seen on this cart"),
    OF_KIT: _("as seen on carts with this kit"),
    FORMULA: _("by the formula"),
}
NO_FIGURES = _(
    "How far is not known: this cart’s thread and arm are not told. Turn a flat, read again, "
    "and go on by what it did."
)


@dataclass(frozen=True)
class Step:
    kind: str
    title: str
    lines: list
    corrections: list


@dataclass(frozen=True)
class Told:
    """One part to turn: the instruction, what goes with it, and its drawing."""

    title: str
    lines: list
    drawing: str


def said_of(step, sheet, figures, wording):
    names = ", ".join(str(words.NAMES[name]) for name in step.names)
    return Step(
        kind=step.kind,
        title=str(TITLES[step.kind]) % {"names": names},
        lines=list(_lines(step, sheet, wording)),
        corrections=_all_told(step.corrections, sheet, figures.steering, wording),
    )


def _all_told(corrections, sheet, steering, wording):
    """Return each correction told; drawn once where both sides are turned alike."""
    told, drawn = [], set()
    for one in corrections:
        flats = one.advice and one.advice.flats
        told.append(_told(one, sheet, None if flats in drawn else steering, wording))
        drawn.add(flats)
    return told


def _lines(step, sheet, wording):
    for name, asks in step.asks.items():
        yield asked(sheet, name, asks)
    if step.toe_moves_mm is not None:
        moved = gettext("It will move toe by about %(toe)s: toe is read after it.")
        yield moved % {"toe": wording.change(TOE, step.toe_moves_mm)}
    if step.steering_wheel:
        yield str(WHEEL[step.steering_wheel])
    if step.bent:
        names = ", ".join(str(words.NAMES[name]) for name in step.bent)
        yield gettext("Not adjustable, and outside: %(names)s. Look for a bent or worn part.") % {
            "names": names
        }


def _told(one, sheet, steering, wording):
    if one.advice is None:
        return Told(str(NO_FIGURES), [], "")
    title = str(AT[one.at]) % {"flats": flats_said(one.advice.flats)}
    return Told(title, list(_about(one, sheet, wording)), _drawn(one, title, steering))


def _about(one, sheet, wording):
    advice = one.advice
    predicted = wording.figure(one.name, advice.predicted)
    yield gettext("Then it should read %(figure)s.") % {"figure": predicted}
    if one.name == TOE and sheet.diameter_mm:
        yield in_all(advice.predicted, sheet.diameter_mm, wording)
    if not advice.lands_inside:
        yield gettext("That does not bring it inside by itself: read again and go on from there.")
    yield gettext("To the middle it is %(exact)s flats; a flat does %(flat)s, %(source)s.") % {
        "exact": f"{abs(advice.exact_flats):.1f}",
        "flat": wording.change(one.name, one.gain.a_flat),
        "source": SOURCES[one.gain.source],
    }
    if one.gain.learned:
        yield _learned_said(one, wording)


def _learned_said(one, wording):
    learned = one.gain.learned
    said = {
        "formula": wording.change(one.name, one.gain.a_flat / learned.share),
        "share": f"{learned.share:.2f}",
        "low": f"{learned.low:.2f}",
        "high": f"{learned.high:.2f}",
        "count": learned.count,
    }
    return (
        gettext(
            "The formula gives %(formula)s a flat; %(count)s turns did %(share)s of it "
            "(%(low)s to %(high)s)."
        )
        % said
    )


def _drawn(one, title, steering):
    is_rod = one.name == TOE
    part = steering and (steering.rod if is_rod else steering.sleeve)
    if part is None:
        return ""
    draw = part_drawing.rod_drawing if is_rod else part_drawing.sleeve_drawing
    drawn = draw(
        one.advice.flats,
        is_double=part.is_double,
        words=_part_words(is_rod, title, one.advice.flats),
        key=f"turn-{one.name.replace(' ', '-')}",
    )
    # made by this server alone, its words escaped
    return mark_safe(drawn)


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
