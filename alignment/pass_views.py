"""The passes of a form for its templates: each with its readings in rows, its turns, its title."""

from dataclasses import dataclass
from itertools import chain

from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment.buttons import ADDED
from alignment.how_pictures import how_to_read
from alignment.models import Side, Turn
from alignment.reading_fields import (
    CAMBER_READINGS,
    DRIVE,
    FOUND,
    GAPS,
    ROD,
    SLEEVE,
    TOE_READINGS,
    WHEELS,
)

TITLES = {
    FOUND: _("Pass %(n)s: as found"),
    SLEEVE: _("Pass %(n)s: camber sleeve turned"),
    ROD: _("Pass %(n)s: tie rods turned"),
    DRIVE: _("Pass %(n)s: driven, both read again"),
    "": _("Pass %(n)s: read again"),
}
ENDS = {"front": _("front"), "rear": _("rear")}
TOE_ROWS_SHOWN = 3
SIDES_TURNED = {SLEEVE: (Turn.At.LEFT, Turn.At.RIGHT), ROD: tuple(Turn.At)}


@dataclass(frozen=True)
class Read:
    """A field with the short label that its group makes plain."""

    label: str
    field: object

    @property
    def is_used(self):
        return bool(self.field.data or self.field.errors)


@dataclass(frozen=True)
class Group:
    """A wheel or the tape: the rows that are shown, and those folded away until used."""

    title: str
    first: list
    more: list

    @property
    def is_open(self):
        return any(one.is_used for one in self.more)


@dataclass(frozen=True)
class TurnView:
    """What was turned at one side: how many flats, which way."""

    title: str
    flats: object
    way: object


@dataclass(frozen=True)
class PassView:
    n: int
    step: object
    title: str
    is_last: bool
    is_new: bool
    turns: list
    wheels: list
    tape: Group
    said: str

    def how_to_read(self):
        """Return the drawings of square and tape, at the first pass alone."""
        return how_to_read() if self.n == 1 else []

    @property
    def is_toe_alone(self):
        """Whether camber need not be read again: it was toe that was turned."""
        used = (one.is_used for wheel in self.wheels for one in (*wheel.first, *wheel.more))
        return self.step.value() == ROD and not any(used)

    @property
    def is_open(self):
        return self.is_last or any(field.errors for field in self._fields())

    def _fields(self):
        yield from (field for one in self.turns for field in (one.flats, one.way))
        yield from (one.field for group in (*self.wheels, self.tape) for one in group.first)
        yield from (one.field for group in (*self.wheels, self.tape) for one in group.more)


def passes_of(form, said):
    """Return the views of all passes; ``said`` are their results in words, by number."""
    return [_pass(form, n, said.get(n, "")) for n in form.pass_numbers]


def _pass(form, n, said):
    step = form[f"p{n}_step"]
    word = FOUND if n == 1 else step.value() or ""
    return PassView(
        n=n,
        step=step,
        title=gettext(TITLES.get(word, TITLES[""])) % {"n": n},
        is_last=n == form.pass_count,
        is_new=n == form.pass_count and form.asked == ADDED,
        turns=[_turn(form, n, at) for at in _turned_at(form, word)],
        wheels=[_wheel(form, n, side) for side in Side.values],
        tape=_tape(form, n),
        said=said,
    )


def _turned_at(form, step):
    """Return at which sides a step turns something; the one rod across stands for both."""
    rod = form.known.figures.steering.rod
    if step != ROD or rod is None:
        return SIDES_TURNED.get(step, ())
    return (Turn.At.ACROSS,) if rod.is_across else SIDES_TURNED[SLEEVE]


def _turn(form, n, at):
    return TurnView(at.label, form[f"p{n}_{at}_turn"], form[f"p{n}_{at}_way"])


def _wheel(form, n, side):
    rows = [_wheel_row(form, n, side, k) for k in CAMBER_READINGS]
    first = rows[0][: len(GAPS)]
    more = [rows[0][len(GAPS)], *rows[1], *rows[2]]
    return Group(WHEELS[side], first, more)


def _wheel_row(form, n, side, k):
    """Return one reading: both gaps, the gauge in their place, the half turn of a repeat."""
    reads = [Read(_numbered(what, k), form[f"p{n}_{side}_{gap}_{k}"]) for gap, what in GAPS.items()]
    reads.append(Read(_numbered(_("gauge instead, °"), k), form[f"p{n}_{side}_gauge_{k}"]))
    if k > 1:
        half = Read(_("after half a turn of the wheel"), form[f"p{n}_{side}_half_{k}"])
        reads.append(half)
    return reads


def _tape(form, n):
    rows = [
        [Read(f"{what} {k}", form[f"p{n}_{end}_{k}"]) for end, what in ENDS.items()]
        for k in TOE_READINGS
    ]
    shown, folded = rows[:TOE_ROWS_SHOWN], rows[TOE_ROWS_SHOWN:]
    return Group(_("toe: front and rear of the tyres"), [*chain(*shown)], [*chain(*folded)])


def _numbered(what, k):
    return what if k == 1 else f"{what} {k}"
