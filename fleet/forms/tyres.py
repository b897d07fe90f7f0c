"""What a person writes of tyres: the code on them, and the diameter that was measured."""

from dataclasses import dataclass
from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.tyre_codes import TyreCode, disagrees, read_tyre_code
from shared.units import Unreadable, shown

LONGEST_CODE_CHARS = 40


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
