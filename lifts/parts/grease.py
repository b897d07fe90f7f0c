from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Hold, Outcome, Start
from lifts import pieces
from lifts.last_told import last_told
from lifts.lubricant import grams_given, must_purge
from lifts.models import GreasePart, GreaseStroke, OldGrease
from lifts.parts.base import Elsewhere, LiftPart, numbered, told
from lifts.parts.grease_form import GreaseForm, in_the_points

GREASE_BLOCKED, WATER_IN_GREASE = "grease-blocked", "water-in-grease"
LETS_IN = {OldGrease.MILKY, OldGrease.GRITTY}


class Grease(LiftPart):
    code = "grease"
    title = _("Grease")
    place = 20
    model = GreasePart
    line_model = GreaseStroke
    form_class = GreaseForm
    template = "lifts/part_grease.html"
    cautions = GreaseForm.cautions
    pieces = frozenset({pieces.GREASE})
    grades = {
        GreaseStroke.Found.GREASED.value: 0,
        GreaseStroke.Found.NOT_REACHED.value: 1,
        GreaseStroke.Found.BLOCKED.value: 2,
        OldGrease.CLEAN.value: 0,
        OldGrease.DARK.value: 0,
        OldGrease.MILKY.value: 1,
        OldGrease.GRITTY.value: 1,
    }

    def read(self, form):
        said = form.cleaned_data
        values = {
            "lubricant": said["lubricant"],
            "thickener": said["thickener"] or None,
            "thickener_before": form.thickener_before,
            "grams_a_stroke": said["grams_a_stroke"],
            "is_whole": form.is_whole,
        }
        return values, numbered([_stroke(form, point) for point in form.points])

    def moved(self, old, fact, lines, cart, at):
        """Copy in what was in the other cart's points; nothing for a part older than that."""
        if old.is_whole is not None:
            last = last_told(GreasePart, Elsewhere(cart, at, old.round_id))
            fact.thickener_before = last and in_the_points(last)

    def outcome(self, fact, lines):
        wrong = list(_wrong(fact, lines))
        holds = tuple(Hold(piece, why) for name, why in wrong for piece in _pieces(fact, name))
        done = _done(fact, lines) if not wrong else _points_done(fact, lines, wrong)
        return Outcome(pieces=done, holds=holds, starts=tuple(_starts(fact, lines)))

    def verdicts(self, fact, lines):
        found = {line.name: line.found for line in lines}
        return found | {_old(line): line.old_grease for line in lines if line.old_grease}

    def said(self, fact, lines):
        if fact.lubricant or fact.thickener:
            before = fact.thickener_before if _is_another(fact) else None
            detail = told(thickener=fact.thickener, before=before)
            yield ("lubricant", fact.lubricant or fact.thickener, detail)
        for line in lines:
            yield (line.name, line.found, _detail(line))
        if fact.grams_a_stroke is not None:
            yield _grams(fact, lines)


def _stroke(form, point):
    found = form.of(point, "found")
    is_greased = found == GreaseStroke.Found.GREASED
    return GreaseStroke(
        point=point,
        name=point.name,
        fittings=point.count,
        found=found,
        strokes=form.of(point, "strokes"),
        clean_seen=bool(form.of(point, "clean")),
        boot_torn=bool(form.of(point, "torn")),
        old_grease=form.of(point, "old") or None,
        weight_on=form.weight_on(point) if is_greased else None,
    )


def _wrong(fact, lines):
    """Yield (grease point, why it does not close) for each point that does not."""
    for line in lines:
        said = {"point": line.name}
        if line.found == GreaseStroke.Found.BLOCKED:
            yield line.name, gettext("%(point)s: grease fitting blocked or missing") % said
        elif line.found == GreaseStroke.Found.NOT_REACHED:
            yield line.name, gettext("%(point)s: not greased") % said
        elif _is_another(fact) and not line.clean_seen:
            yield (
                line.name,
                gettext(
                    "another lubricant than before: purge every point until clean grease shows"
                ),
            )


def _is_another(fact):
    return must_purge(fact.thickener_before, fact.thickener)


def _pieces(fact, name):
    """Yield the pieces of work that a point leaves open: one of before knew the whole alone."""
    if fact.is_whole is not False:
        yield pieces.GREASE
    if fact.is_whole is not None:
        yield pieces.of_point(name)


def _done(fact, lines):
    greased = any(line.found == GreaseStroke.Found.GREASED for line in lines)
    whole = {pieces.GREASE} if greased and fact.is_whole is not False else set()
    return frozenset(whole | _points_done(fact, lines, ()))


def _points_done(fact, lines, wrong):
    if fact.is_whole is None:
        return frozenset()
    open_still = {name for name, _why in wrong}
    return frozenset(pieces.of_point(line.name) for line in lines if line.name not in open_still)


def _starts(fact, lines):
    if fact.is_whole is None:
        return
    for line in lines:
        if line.found == GreaseStroke.Found.BLOCKED:
            yield Start(GREASE_BLOCKED, line.name)
    if any(line.old_grease in LETS_IN for line in lines):
        yield Start(WATER_IN_GREASE)


def _old(line):
    return f"{line.name}, old grease"


def _detail(line):
    weight = {True: "on", False: "off"}.get(line.weight_on)
    fittings = line.fittings if line.fittings and line.fittings > 1 else None
    return told(
        strokes=line.strokes,
        at_fittings=line.strokes and fittings,
        clean_seen=line.clean_seen,
        boot_torn=line.boot_torn,
        old_grease=line.old_grease,
        weight=weight,
    )


def _grams(fact, lines):
    """Say the grams pumped in; where clean grease was seen and no stroke counted, at least."""
    greased = [line for line in lines if line.found == GreaseStroke.Found.GREASED]
    counted = [line for line in greased if line.strokes is not None and line.fittings]
    given = grams_given(fact.grams_a_stroke, [(line.strokes, line.fittings) for line in counted])
    left = len(greased) - len(counted)
    detail = f"{fact.grams_a_stroke.normalize():f} g a stroke"
    if left:
        detail += f"; {left} of {len(greased)} points without strokes counted"
    return ("grease pumped in", f"{'at least ' if left else ''}{given:.0f} g", detail)
