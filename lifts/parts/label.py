from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Hold, Outcome, Start
from lifts import pieces
from lifts.fields import YesNoField
from lifts.models import LabelCheck
from lifts.parts.base import YES_OR_NO, LiftPart, PartForm, told, yes_or_no
from shared.models import Photo

LABEL_WANTING = "label-wanting"
CAMERA = {"accept": "image/*", "capture": "environment"}


class LabelForm(PartForm):
    cautions = (
        _("A lifted cart tips sooner and stops longer. The label says so to who drives it."),
        _("Nothing may be fitted over the label: no visor, phone holder, clip or permit."),
    )

    position = forms.CharField(required=False, max_length=120, label=_("Where it is"))
    in_place = YesNoField(label=_("In place?"))
    is_legible = YesNoField(label=_("Legible?"))
    visible_from_seat = YesNoField(label=_("Visible from the driver’s seat?"))
    covered_by = forms.CharField(required=False, max_length=120, label=_("Covered by"))
    replaced = forms.BooleanField(required=False, label=_("A new label was fitted"))
    photo_seat = forms.FileField(
        required=False,
        widget=forms.FileInput(attrs=CAMERA),
        label=_("Photo from the driver’s seat, cart number in the picture"),
    )
    photo_close = forms.FileField(
        required=False, widget=forms.FileInput(attrs=CAMERA), label=_("Photo close up")
    )

    def photos(self):
        """Return (what it shows, file) of each photo taken, for whom records photos."""
        taken = (
            (Photo.Shows.LABEL_SEAT, self.cleaned_data["photo_seat"]),
            (Photo.Shows.LABEL_CLOSE, self.cleaned_data["photo_close"]),
        )
        return [(shows, file) for shows, file in taken if file]


class Label(LiftPart):
    code = "label"
    title = _("Warning label")
    place = 70
    model = LabelCheck
    form_class = LabelForm
    template = "lifts/part_label.html"
    cautions = LabelForm.cautions
    pieces = frozenset({pieces.LABEL})
    grades = YES_OR_NO

    def read(self, form):
        names = (*_FOUND, "position", "covered_by", "replaced")
        return {name: form.cleaned_data[name] for name in names}, []

    def outcome(self, fact, lines):
        wrong = [said for name, said in _FOUND.items() if not getattr(fact, name)]
        if fact.replaced or not wrong:
            return Outcome(pieces=self.pieces)
        within = gettext("%(what)s: replace it within 24 hours")
        holds = tuple(Hold(pieces.LABEL, within % {"what": said}) for said in wrong)
        return Outcome(holds=holds, starts=(Start(LABEL_WANTING),))

    def verdicts(self, fact, lines):
        return {_plain(name): yes_or_no(getattr(fact, name)) for name in _FOUND}

    def said(self, fact, lines):
        wrong = [_plain(name) for name in _FOUND if not getattr(fact, name)]
        found = f"not {', not '.join(wrong)}" if wrong else "in place, legible, visible"
        detail = told(position=fact.position, covered_by=fact.covered_by, replaced=fact.replaced)
        yield ("label", found, detail)


def _plain(name):
    return name.replace("_", " ")


_FOUND = {
    "in_place": _("Warning label not in place"),
    "is_legible": _("Warning label not legible"),
    "visible_from_seat": _("Warning label not visible from the seat"),
}
