"""A length or an angle as a mechanic types it: either system's unit, fractions and all."""

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shared.units import Unreadable, printed, read_quantity

LONGEST_TYPED_CHARS = 40


class MeasureField(forms.CharField):
    """Cleans to a shared.units.Measure, or None when empty; what was typed stays in the field.

    ``lowest`` and ``highest`` are in the quantity's SI unit.
    """

    def __init__(self, quantity, unit, *, label, lowest, highest, fractions=True, **kwargs):
        self.quantity, self.unit, self.lowest, self.highest = quantity, unit, lowest, highest
        attrs = {"inputmode": "text", "autocomplete": "off", "autocapitalize": "none"}
        if fractions:
            attrs["data-fractions"] = ""
        kwargs.setdefault("widget", forms.TextInput(attrs=attrs))
        label = format_lazy("{} ({})", label, printed(unit))
        super().__init__(label=label, required=False, max_length=LONGEST_TYPED_CHARS, **kwargs)

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        try:
            return read_quantity(text, self.quantity, self.unit)
        except Unreadable as error:
            raise forms.ValidationError(gettext(error.plain) % error.holes) from error

    def run_validators(self, value):
        if value is None:
            return
        super().run_validators(value.typed)
        if not self.lowest <= value.si <= self.highest:
            raise forms.ValidationError(
                _("“%(typed)s” cannot be right here; read it again."),
                params={"typed": value.typed},
            )


def as_read(measure):
    """Return what was typed, with the unit meant where none was typed: "35 7/8 in"."""
    if measure is None:
        return ""
    typed = measure.typed.strip()
    return f"{typed} {measure.unit}" if typed[-1].isnumeric() else typed


def si(measure):
    """Return a Measure in mm or degrees, to the places that are kept; None for None."""
    return None if measure is None else round(measure.si, 6)
