from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Hold, Outcome, Start
from lifts import pieces
from lifts.fields import si, typed
from lifts.label_letters import letters_said
from lifts.label_places import position_of
from lifts.models import Condition, LabelCheck
from lifts.parts.base import YES_OR_NO, LiftPart, told, yes_or_no
from lifts.parts.label_form import MEASURED, OUT_OF_SIGHT, LabelForm

LABEL_WANTING = "label-wanting"
READABLE = {Condition.CLEAR, Condition.WORN}


class Label(LiftPart):
    code = "label"
    title = _("Warning label")
    place = 70
    model = LabelCheck
    form_class = LabelForm
    template = "lifts/part_label.html"
    cautions = LabelForm.cautions
    pieces = frozenset({pieces.LABEL})
    grades = {
        **YES_OR_NO,
        Condition.CLEAR.value: 0,
        Condition.WORN.value: 1,
        Condition.UNREADABLE.value: 2,
        Condition.COVERED.value: 2,
        Condition.GONE.value: 3,
    }

    def read(self, form):
        said = form.cleaned_data
        values = {name: said[name] for name in ("condition", "covered_by", "replaced", "batch")}
        values |= _older_answers(said["condition"], said["visible_from_seat"])
        values["position"] = position_of(said["place"], said["position"])
        if said["condition"] == Condition.COVERED:
            values["uncovered"] = said["uncovered"]
        if said["photo_seat"]:
            values["number_in_picture"] = said["number_in_picture"]
        for name in MEASURED:
            values |= {f"{name}_typed": typed(said[name]), f"{name}_mm": si(said[name])}
        return values, []

    def outcome(self, fact, lines):
        if fact.is_good:
            return Outcome(pieces=self.pieces)
        holds = tuple(Hold(pieces.LABEL, _within_a_day(fact, said)) for said in _wrong(fact))
        return Outcome(holds=holds, starts=(Start(LABEL_WANTING),))

    def verdicts(self, fact, lines):
        found = {_plain(name): yes_or_no(getattr(fact, name)) for name in _FOUND}
        return found | ({"condition": fact.condition} if fact.condition else {})

    def said(self, fact, lines):
        yield ("label", _found_said(fact), _detail(fact))
        yield from letters_said(fact)


def _older_answers(condition, visible):
    """Return the answers of before the condition was asked, which follow from it."""
    return {
        "in_place": condition != Condition.GONE,
        "is_legible": condition in READABLE | {Condition.COVERED},
        "visible_from_seat": bool(visible) and condition not in OUT_OF_SIGHT,
    }


def _wrong(fact):
    """Yield what is wrong with the label as found."""
    if fact.condition in (None, Condition.UNREADABLE):
        yield from (said for name, said in _FOUND.items() if not getattr(fact, name))
    elif fact.condition == Condition.COVERED and fact.covered_by:
        yield gettext("Warning label covered by %(what)s") % {"what": fact.covered_by}
    elif fact.condition in OUT_OF_SIGHT:
        yield _OUT_OF_SIGHT[fact.condition]
    elif not fact.visible_from_seat:
        yield _FOUND["visible_from_seat"]


def _within_a_day(fact, wrong):
    if fact.condition == Condition.COVERED:
        return gettext("%(what)s: uncover or replace it within 24 hours") % {"what": wrong}
    return gettext("%(what)s: replace it within 24 hours") % {"what": wrong}


def _found_said(fact):
    wrong = [_plain(name) for name in _FOUND if not getattr(fact, name)]
    if fact.condition in OUT_OF_SIGHT:
        return fact.condition
    seen = f"not {', not '.join(wrong)}" if wrong else "in place, legible, visible"
    return f"{fact.get_condition_display()}; {seen}" if fact.condition else seen


def _detail(fact):
    number = {True: "yes", False: "not said"}.get(fact.number_in_picture)
    return told(
        position=fact.position,
        covered_by=fact.covered_by,
        taken_off_it=fact.uncovered,
        replaced=fact.replaced,
        batch=fact.batch,
        number_in_the_picture=number,
    )


def _plain(name):
    return name.replace("_", " ")


_FOUND = {
    "in_place": _("Warning label not in place"),
    "is_legible": _("Warning label not legible"),
    "visible_from_seat": _("Warning label not visible from the seat"),
}
_OUT_OF_SIGHT = {
    Condition.COVERED: _("Warning label covered"),
    Condition.GONE: _("Warning label gone"),
}
