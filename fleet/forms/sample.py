from django import forms
from django.utils.translation import gettext_lazy as _

DIGITS = r"0|[1-9][0-9]{0,17}"


class SampleForm(forms.Form):
    """The number by which carts are drawn, kept as typed."""

    number = forms.RegexField(
        rf"\A(?:{DIGITS})\Z",
        label=_("Your number"),
        help_text=_("Any number of up to 18 digits, such as the day's date or a throw of dice."),
        error_messages={"invalid": _("Write digits alone, with no zero in front: 20261125.")},
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}),
    )
