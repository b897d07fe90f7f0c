"""What a person writes of tyres: the code on them, and the diameter that was measured."""

from dataclasses import dataclass
from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.tyre_codes import (
    LEAST_TYRE_MM,
    LONGEST_CODE_CHARS,
    MOST_TYRE_MM,
    TyreCode,
    disagrees,
    read_tyre_code,
)
from shared.units import (
    LONGEST_QUANTITY_CHARS,
    UNITS_OF,
    Unreadable,
    printed,
    read_quantity,
    shown,
)


@dataclass(frozen=True)
class Marked:
    """What stands on a tyre, as typed; ``code`` is None where it cannot be read."""

    text: str
    code: TyreCode | None
    why_unread: str = ""


class TyreCodeField(forms.CharField):
    """The size as marked on a tyre; cleans to Marked, or None when empty.

    Any text is taken: a measured diameter counts whatever stands on the tyre.
    """

    def __init__(self, **kwargs):
        kwargs.setdefault("help_text", gettext_lazy("Such as 20x10-10, 205/50-10 or 18x8.5-8"))
        super().__init__(max_length=LONGEST_CODE_CHARS, **kwargs)

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        try:
            return Marked(text, read_tyre_code(text))
        except Unreadable as unreadable:
            return Marked(text, None, _(unreadable.plain) % unreadable.holes)


class MeasuredTwiceField(forms.BooleanField):
    """Ticked when a measured diameter far from the code's is right all the same."""

    def __init__(self, **kwargs):
        kwargs.setdefault("label", gettext_lazy("Measured twice: the measured diameter is right"))
        super().__init__(required=False, **kwargs)


class DiameterField(forms.CharField):
    """A tyre's measured diameter, in any unit of length; cleans to millimetres."""

    def __init__(self, unit, **kwargs):
        self.unit = unit
        super().__init__(max_length=LONGEST_QUANTITY_CHARS, help_text=printed(unit), **kwargs)

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        try:
            measure = read_quantity(text, "length", self.unit)
        except Unreadable as error:
            raise ValidationError(_(error.plain) % error.holes) from error
        if not LEAST_TYRE_MM <= measure.si <= MOST_TYRE_MM:
            raise ValidationError(_("“%(text)s” cannot be a tyre.") % {"text": text})
        return measure.si


class TyreFields(forms.Form):
    """Tyres as marked and as measured; a diameter far from the marked one is questioned once."""

    tyre = TyreCodeField(label=gettext_lazy("Tyres, as written on them"))

    def add_tyre_fields(self, units):
        self.units = units
        self.fields["tyre_mm"] = DiameterField(
            UNITS_OF[units]["length"], required=False, label=_("Diameter, measured")
        )
        self.fields["tyre_mm"].help_text += _("; left empty, the marked size counts")
        if self.is_bound:
            self.fields["is_sure"] = MeasuredTwiceField()

    def clean(self):
        said = super().clean()
        marked = said.get("tyre")
        question = ""
        if marked and "tyre_mm" in said and self.are_tyres_told():
            question = question_of(marked, said["tyre_mm"], self.units)
            self._settle(marked, question)
        if not question:
            del self.fields["is_sure"]
        return said

    def are_tyres_told(self):
        """Whether what stands in the fields is told here, and so to be judged."""
        return True

    def _settle(self, marked, question):
        if question and not self.cleaned_data.get("is_sure"):
            self.add_error("is_sure", question)
        try:
            self.diameter_mm = diameter_of(marked, self.cleaned_data["tyre_mm"])
        except ValidationError as error:
            self.add_error("tyre_mm", error)

    def tyre_value(self):
        """Return the size as typed, the diameter, and whence it is; as plain JSON."""
        said = self.cleaned_data
        value = {"tyre": said["tyre"].text, "tyre_mm": format(self.diameter_mm, "f")}
        if said["tyre_mm"] is None:
            return value | {"diameter_from": "the marked size"}
        sure = {"measured_twice": "yes"} if said.get("is_sure") else {}
        return value | {"measured": self["tyre_mm"].value()} | sure


def diameter_of(marked: Marked, measured_mm: Decimal | None) -> Decimal:
    """Return the diameter that counts: the measured one, else the code's own.

    Raises ValidationError where there is neither.
    """
    if measured_mm is not None:
        return measured_mm
    if marked.code is None:
        raise ValidationError(marked.why_unread)
    if marked.code.diameter_mm is None:
        raise ValidationError(
            _("“%(code)s” does not say the diameter: measure it.") % {"code": marked.text}
        )
    return marked.code.diameter_mm


def question_of(marked: Marked, measured_mm: Decimal | None, units: str) -> str:
    """Return what to ask before a measured diameter is taken; empty where nothing is in doubt."""
    if measured_mm is None or marked.code is None or not disagrees(marked.code, measured_mm):
        return ""
    said = {
        "code": marked.text,
        "nominal": shown(marked.code.diameter_mm, "length", units, places=2),
        "measured": shown(measured_mm, "length", units, places=2),
    }
    asked = _("“%(code)s” says %(nominal)s, and %(measured)s was measured: more than 3 %% apart.")
    return asked % said
