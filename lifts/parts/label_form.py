"""What is asked of a cart's warning label: one tap and two photos where all is well."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts import label_places
from lifts.fields import PressedField, QuantityField, YesNoField, unit_at
from lifts.last_told import last_told
from lifts.models import Condition, LabelCheck
from lifts.parts.base import PartForm
from lifts.visit_kit import kits_now
from shared.models import Photo

CAMERA = {"accept": "image/*", "capture": "environment"}
MOST_LETTER_MM, MOST_SEAT_MM = 100, 5000
MEASURED = ("letters", "signal_word", "seat")
OUT_OF_SIGHT = {Condition.COVERED, Condition.GONE}


class LabelForm(PartForm):
    """What was measured and where the label is are remembered from the last look at it."""

    cautions = (
        _("A lifted cart tips sooner and stops longer. The label says so to who drives it."),
        _("Nothing may be fitted over it: no visor, phone holder, scorecard clip or permit."),
    )

    as_it_should_be = forms.BooleanField(
        required=False, label=_("Clear, and in sight from the driver’s seat")
    )
    condition = PressedField(required=False, choices=Condition.choices, label=_("As found"))
    visible_from_seat = YesNoField(required=False, label=_("In sight from the driver’s seat?"))
    covered_by = forms.CharField(required=False, max_length=120, label=_("Covered by"))
    uncovered = forms.BooleanField(
        required=False, label=_("What covered it is off now, and it is in sight")
    )
    replaced = forms.BooleanField(required=False, label=_("A new label was fitted"))
    batch = forms.CharField(required=False, max_length=60, label=_("Batch of the label"))
    photo_seat = forms.FileField(
        required=False,
        widget=forms.FileInput(attrs=CAMERA),
        label=_("Photo from the driver’s head position, cart number in the picture"),
    )
    number_in_picture = forms.BooleanField(
        required=False, label=_("The cart’s number can be read in that picture")
    )
    photo_close = forms.FileField(
        required=False, widget=forms.FileInput(attrs=CAMERA), label=_("Photo close up")
    )
    position = forms.CharField(required=False, max_length=80, label=_("Where exactly"))

    def build(self):
        self.fields["place"] = PressedField(
            required=False, choices=label_places.choices(), label=_("Where it is")
        )
        site = self.visit.site
        for name, label, most_mm in (
            ("letters", _("Height of a capital letter of its message"), MOST_LETTER_MM),
            ("signal_word", _("Height of its signal word"), MOST_LETTER_MM),
            ("seat", _("From the driver’s eye to the label"), MOST_SEAT_MM),
        ):
            self.fields[name] = QuantityField(
                "length", unit=unit_at(site, "length"), most_si=most_mm, required=False, label=label
            )
        kits = self.visit.once(kits_now)
        self.label_text = kits[0].label_text if kits else ""
        self._remember(last_told(LabelCheck, self.visit))

    def _remember(self, last):
        if last is None:
            return
        place, text = label_places.place_in(last.position)
        self.fields["place"].initial, self.fields["position"].initial = place, text
        self.fields["batch"].initial = last.batch or ""
        for name in MEASURED:
            typed, mm = getattr(last, f"{name}_typed"), getattr(last, f"{name}_mm")
            self.fields[name].initial = _typed_again(self.fields[name], typed, mm)

    def clean(self):
        said = self.cleaned_data
        if said.get("as_it_should_be"):
            said["condition"] = said.get("condition") or Condition.CLEAR.value
            if said.get("visible_from_seat") is None:
                said["visible_from_seat"] = True
        condition = said.get("condition")
        if not condition:
            self.add_error("condition", gettext("Say how the label is"))
        elif condition not in OUT_OF_SIGHT and said.get("visible_from_seat") is None:
            self.add_error("visible_from_seat", gettext("Say whether it is in sight"))
        return super().clean()

    def is_otherwise(self):
        """Whether more than the one tap was told, or is still to be told."""
        names = ("condition", "visible_from_seat", "covered_by", "uncovered", "replaced")
        return any(self[name].value() or self[name].errors for name in names)

    def picture(self):
        return label_places.picture(self["place"].value() or "")

    def measured(self):
        return [self[name] for name in MEASURED]

    def photos(self):
        """Return (what it shows, file) of each photo taken, for whom records photos."""
        taken = (
            (Photo.Shows.LABEL_SEAT, self.cleaned_data["photo_seat"]),
            (Photo.Shows.LABEL_CLOSE, self.cleaned_data["photo_close"]),
        )
        return [(shows, file) for shows, file in taken if file]

    def on_paper(self):
        """Yield the lines of a printed sheet."""
        yield gettext("As found"), Condition.labels, ""
        yield gettext("In sight from the driver’s seat?"), [gettext("Yes"), gettext("No")], ""
        yield gettext("Covered by"), [], ""
        yield gettext("A new label was fitted"), [gettext("Yes")], ""


def _typed_again(field, typed, mm):
    """Return what was typed, or the millimetres where it would be read otherwise by now."""
    if mm is None:
        return ""
    try:
        is_same = field.clean(typed).si == mm
    except ValidationError:
        is_same = False
    return typed if is_same else f"{mm.normalize():f} mm"
