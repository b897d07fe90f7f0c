"""Form fields that read what a person wrote: quantities, plain numbers, yes or no."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shared.units import (
    LEAST_SI,
    LONGEST_QUANTITY_CHARS,
    UNITS_OF,
    Unreadable,
    printed,
    read_quantity,
)

# A length beyond one's hand is paced in feet or metres, not inches.
PACED = {"metric": "m", "inch": "ft"}
YES_NO_UNSAID = [("", _("not said")), ("yes", _("Yes")), ("no", _("No"))]


class CodeField(forms.SlugField):
    """A short name for machines."""

    default_error_messages = {
        "invalid": _("Letters a to z, figures, hyphens and underscores alone.")
    }


class QuantityField(forms.CharField):
    """A quantity typed in any unit of its kind; cleans to a Measure, or None when empty.

    ``most_si`` is the largest value taken, in the unit that SI_UNITS names; nought is taken
    where it ``may_be_nought``.
    """

    def __init__(self, quantity, *, unit, most_si, may_be_nought=False, **kwargs):
        self.quantity, self.unit, self.most_si = quantity, unit, Decimal(most_si)
        self.may_be_nought = may_be_nought
        kwargs.setdefault("help_text", printed(unit))
        super().__init__(max_length=LONGEST_QUANTITY_CHARS, **kwargs)
        self.widget.attrs["inputmode"] = "text" if quantity == "length" else "decimal"

    def clean(self, value):
        text = super().clean(value)
        if not text:
            return None
        try:
            measure = read_quantity(text, self.quantity, self.unit)
        except Unreadable as unreadable:
            raise ValidationError(gettext(unreadable.plain) % unreadable.holes) from unreadable
        if not self.is_likely(measure.si):
            raise ValidationError(_("“%(text)s” cannot be right here") % {"text": text})
        return measure

    def is_likely(self, si):
        return LEAST_SI <= si <= self.most_si or (si == 0 and self.may_be_nought)


class LengthField(QuantityField):
    """A length that may be zero, or below zero where ``least_mm`` is; it may stay empty."""

    def __init__(self, *, unit, least_mm, most_mm, **kwargs):
        self.least_mm = Decimal(least_mm)
        super().__init__("length", unit=unit, most_si=most_mm, required=False, **kwargs)

    def is_likely(self, si):
        return self.least_mm <= si <= self.most_si


class SecondsField(forms.DecimalField):
    """A hand-timed run."""

    def __init__(self, **kwargs):
        defaults = {"min_value": Decimal("0.5"), "max_value": 600, "max_digits": 6}
        super().__init__(**defaults, decimal_places=2, **kwargs)
        self.widget.attrs["inputmode"] = "decimal"


class YesNoField(forms.TypedChoiceField):
    """Yes or no, unset until pressed; cleans to True, False or None."""

    def __init__(self, *, yes="", no="", **kwargs):
        super().__init__(
            choices=[("yes", yes or _("Yes")), ("no", no or _("No"))],
            coerce=lambda value: value == "yes",
            empty_value=None,
            widget=forms.RadioSelect,
            **kwargs,
        )


class PressedField(forms.ChoiceField):
    """One of a few big buttons, unset until pressed."""

    widget = forms.RadioSelect


def unit_at(site, quantity, *, paced=False):
    """Return the unit meant at a site where none is typed."""
    return PACED[site.units] if paced else UNITS_OF[site.units][quantity]


def typed(measure):
    return measure.typed if measure else ""


def si(measure):
    return measure.si if measure else None


def metres(measure):
    """Return a length in metres; SI_UNITS has lengths in mm."""
    return measure.si / 1000 if measure else None
