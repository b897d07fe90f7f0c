"""What to do now with a sheet, in words, with the part to turn drawn."""

from dataclasses import dataclass

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment import next_step, words
from alignment.correcting import ACROSS, BOTH
from alignment.counting import TOE
from alignment.doubts_said import REASONS, doubts_said
from alignment.flats_said import flats_said
from alignment.learning import FORMULA, HERE, OF_CART, OF_KIT
from alignment.more_readings import asked
from alignment.part_told import drawn, way_said
from alignment.readings import SIDES
from alignment.values_said import in_all

TITLES = {
    next_step.READ_CAMBER: _("Now read camber: %(names)s"),
    next_step.READ_TOE: _("Now read toe, front and rear"),
    next_step.READ_AGAIN: _("Now read again: %(names)s"),
    next_step.MORE_READINGS: _("Can’t tell yet: read more often"),
    next_step.SAY_ADJUSTS: _("Camber is off. How is camber adjusted on this cart?"),
    next_step.TURN_SLEEVE: _("Now turn the camber sleeve, then read camber again"),
    next_step.TURN_ROD: _("Now turn the tie rods, then read toe again"),
    next_step.CENTRE_WHEEL: _("Now centre the steering wheel by the tie rods, then read toe again"),
    next_step.DRIVE: _("Now tighten the jam nuts and drive it, then read both again"),
    next_step.LOOK_FOR_PART: _("Camber is not adjustable: look for a bent or worn part"),
    next_step.ODD_READING: _("First the odd reading: read it again, then say whether it stands"),
    next_step.LOOK_AT_TURN: _("Turn nothing yet: look at what was turned last"),
    next_step.LEFT_OPEN: _("Measured, can’t tell: %(names)s"),
    next_step.DONE: _("Done: all inside"),
}
INSIDE_BUT = _("Inside, but the recheck stays open:")
AT = {
    "left": _("Left: %(flats)s"),
    "right": _("Right: %(flats)s"),
    BOTH: _("Both sides alike: %(flats)s each"),
    ACROSS: _("The rod across: %(flats)s"),
}
WHEEL = {
    next_step.KEEPS_WHEEL: _("Turn both sides alike: the steering wheel stays straight."),
    next_step.BY_DRAG_LINK: _("One rod across: the drag link centres the steering wheel."),
}
SOURCES = {
    HERE: _("as the last turn on this sheet did"),
    OF_CART: _("as seen on this cart"),
    OF_KIT: _("as seen on carts with this kit"),
    FORMULA: _("by the formula"),
}
CENTRE_BY = _(
    "To centre the steering wheel: %(sides)s (%(flats)s flats a degree). That leaves toe as it is."
)
CENTRE_BY_LOOK = _(
    "To centre the steering wheel: %(longer)s longer and %(shorter)s shorter by as many flats, "
    "%(flats)s flats for each degree that the front wheels point off."
)
LEARNED_OF_ONE = _("The formula gives %(formula)s a flat; the turn did %(share)s of that.")
LEARNED = _(
    "The formula gives %(formula)s a flat; %(count)s turns did %(share)s of that "
    "(%(low)s to %(high)s)."
)
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


def said_of(step, sheet, figures, wording, holds=()):
    """Return the step in words; ``holds`` say what would keep the recheck open."""
    is_held = step.kind == next_step.DONE and holds
    return Step(
        kind=step.kind,
        title=str(INSIDE_BUT) if is_held else _title(step),
        lines=[*_held(step, holds), *_lines(step, sheet, wording)],
        corrections=_all_told(step, sheet, figures.steering, wording),
    )


def _title(step):
    return str(REASONS.get(step.reason, TITLES[step.kind])) % {"names": words.listed(step.names)}


def _held(step, holds):
    """Return what would keep the recheck open, once there is nothing more to be done."""
    if step.kind not in (next_step.DONE, next_step.LEFT_OPEN):
        return []
    return [f"{words.begun(str(reason))}." for reason in holds]


def _all_told(step, sheet, steering, wording):
    """Return each part told; drawn once where both sides are turned alike."""
    if step.centre and step.centre.of_sides:
        return list(_sides_told(step, sheet, steering, wording))
    told, seen = [], set()
    for one in step.corrections:
        flats = one.advice and one.advice.flats
        told.append(_told(one, sheet, steering, wording, is_drawn=flats not in seen))
        seen.add(flats)
    return told


def _sides_told(step, sheet, steering, wording):
    """Yield each side's rod: what toe wants and what centres the steering wheel, in one."""
    about = [line for one in step.corrections for line in _for_toe(one, sheet, wording)]
    for side in SIDES:
        flats = step.flats[side]
        title = str(AT[side]) % {"flats": flats_said(flats)}
        turned = way_said(TOE, side, flats, steering, wording)
        lines = [*turned, *(about if side == SIDES[-1] else [])]
        yield Told(title, lines, drawn(TOE, side, flats, title, steering))


def _for_toe(one, sheet, wording):
    """Yield what of both sides' flats is for toe, and what it gives."""
    if one.advice is not None:
        yield gettext("Of that, for toe: %s.") % _at_said(one)
        yield from _about(one, sheet, wording)


def _at_said(one):
    said = str(AT[one.at]) % {"flats": flats_said(one.advice.flats)}
    return f"{said[:1].lower()}{said[1:]}"


def _lines(step, sheet, wording):
    yield from doubts_said(step, sheet)
    for name, asks in step.asks.items():
        yield asked(sheet, name, asks)
    if step.instead:
        flats = ", ".join(_at_said(one) for one in step.instead)
        yield gettext("Or turn it to the middle, which settles it too: %s.") % flats
    if step.toe_moves_mm is not None:
        moved = gettext("It will move toe by about %(toe)s: toe is read after it.")
        yield moved % {"toe": wording.change(TOE, step.toe_moves_mm)}
    if step.steering_wheel in WHEEL:
        yield str(WHEEL[step.steering_wheel])
    if step.centre:
        yield _centre_said(step.centre)
    if step.bent:
        yield words.look_for_part(step.bent)


def _centre_said(centre):
    how = centre.how
    said = {"flats": f"{how.flats_a_deg:.1f}", "longer": words.SIDES[how.longer]}
    said["shorter"] = words.SIDES[how.shorter]
    if centre.flats is None:
        return CENTRE_BY_LOOK % said
    each = centre.of_sides
    said["sides"] = ", ".join(f"{words.SIDES[side]} {flats_said(each[side])}" for side in SIDES)
    return CENTRE_BY % said


def _told(one, sheet, steering, wording, *, is_drawn):
    if one.advice is None:
        return Told(str(NO_FIGURES), [], "")
    flats = one.advice.flats
    title = str(AT[one.at]) % {"flats": flats_said(flats)}
    about = list(_about(one, sheet, wording))
    if not is_drawn:
        return Told(title, about, "")
    picture = drawn(one.name, one.at, flats, title, steering)
    turned = way_said(one.name, one.at, flats, steering, wording)
    return Told(title, [*turned, *about], picture)


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
    return (LEARNED_OF_ONE if learned.count == 1 else LEARNED) % said
