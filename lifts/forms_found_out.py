from django import forms
from django.utils.translation import gettext_lazy as _


class RechecksForm(forms.Form):
    """One reason for all the rechecks that a wrench found out calls for."""

    reason = forms.CharField(
        max_length=300,
        label=_("Why they are made"),
        help_text=_("The wrench and how it was found out are said before it."),
    )
