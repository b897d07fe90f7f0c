"""The forms by which a manager lets told work count, or takes that back."""

from django import forms
from django.utils.translation import gettext_lazy as _

from fleet.forms.cart import DayField


class WhyForm(forms.Form):
    reason = forms.CharField(max_length=300, label=_("Why"))


class CountForm(WhyForm):
    """Which told day, and why it is believed."""

    kind = forms.CharField(max_length=40, widget=forms.HiddenInput)
    day = DayField(widget=forms.HiddenInput)
