"""A length, an angle, a pressure, flats of a nut: as a mechanic types them, fractions and all."""

from decimal import Decimal

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shared.units import Unreadable, printed, read_number, read_quantity

LONGEST_TYPED_CHARS = 40
MOST_FLATS = 60
HALF_FLAT = Decimal("0.5")


class MeasureField(forms.CharField):
    """Cleans to a shared.units.Measure, or None when empty; what was typed stays in the field.

    ``lowest`` and ``highest`` are in the quantity's SI unit; ``unit`` is meant where none is
    typed, and ``said`` in its place beside the label.
    """

    def __init__(self, quantity, unit, *, label, lowest, highest, said=None, **kwargs):
        self.quantity, self.unit, self.lowest, self.highest = quantity, unit, lowest, highest
        kwargs.setdefault("widget", keyed(quantity, unit))
        label = format_lazy("{} ({})", label, said or printed(unit))
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


class FlatsField(forms.CharField):
    """Cleans to a number of flats, sixths of a turn, in halves; None when empty."""

    def __init__(self, **kwargs):
        super().__init__(
            required=False, max_length=LONGEST_TYPED_CHARS, widget=keyed("flats", "in"), **kwargs
        )

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        try:
            return read_number(text)
        except Unreadable as error:
            raise forms.ValidationError(gettext(error.plain) % error.holes) from error

    def run_validators(self, value):
        if value is None:
            return
        if not 0 < value <= MOST_FLATS or value % HALF_FLAT:
            raise forms.ValidationError(_("Give whole or half flats, six to a turn."))


def keyed(kind, unit):
    """Return a text field that the keypad fills: of a quantity, or of "flats"."""
    attrs = {"inputmode": "text", "autocomplete": "off", "autocapitalize": "none"}
    return forms.TextInput(attrs={**attrs, "data-keypad": kind, "data-unit": unit})


def as_read(measure):
    """Return what was typed, with the unit meant where none was typed: "35 7/8 in"."""
    if measure is None:
        return ""
    typed = measure.typed.strip()
    return f"{typed} {measure.unit}" if typed[-1].isnumeric() else typed


def si(measure):
    """Return a Measure in mm or degrees, to the places that are kept; None for None."""
    return None if measure is None else round(measure.si, 6)
