from django import forms
from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Hold, Outcome
from lifts import pieces
from lifts.fields import YesNoField
from lifts.models import LabelCheck
from lifts.parts.base import LiftPart, PartForm, told


class LabelForm(PartForm):
    cautions = (
        _("A lifted cart tips sooner and stops longer. The label says so to who drives it."),
        _("Nothing may be fitted over the label: no visor, phone holder, clip or permit."),
    )

    position = forms.CharField(required=False, max_length=120, label=_("Where it is"))
    in_place = YesNoField(label=_("In place?"))
    is_legible = YesNoField(label=_("Legible?"))
    visible_from_seat = YesNoField(label=_("Visible from the driver's seat?"))
    covered_by = forms.CharField(required=False, max_length=120, label=_("Covered by"))
    replaced = forms.BooleanField(required=False, label=_("A new label was fitted"))


class Label(LiftPart):
    code = "label"
    title = _("Warning label")
    place = 70
    model = LabelCheck
    form_class = LabelForm
    template = "lifts/part_label.html"
    cautions = LabelForm.cautions
    pieces = frozenset({pieces.LABEL})

    def read(self, form):
        names = (*_FOUND, "position", "covered_by", "replaced")
        return {name: form.cleaned_data[name] for name in names}, []

    def outcome(self, fact, lines):
        wrong = [said for name, said in _FOUND.items() if not getattr(fact, name)]
        if fact.replaced or not wrong:
            return Outcome(pieces=self.pieces)
        within = _now("%(what)s: replace it within 24 hours")
        return Outcome(holds=tuple(Hold(pieces.LABEL, within % {"what": said}) for said in wrong))

    def said(self, fact, lines):
        wrong = [name.replace("_", " ") for name in _FOUND if not getattr(fact, name)]
        found = f"not {', not '.join(wrong)}" if wrong else "in place, legible, visible"
        detail = told(position=fact.position, covered_by=fact.covered_by, replaced=fact.replaced)
        yield ("label", found, detail)


_FOUND = {
    "in_place": _("Warning label not in place"),
    "is_legible": _("Warning label not legible"),
    "visible_from_seat": _("Warning label not visible from the seat"),
}
