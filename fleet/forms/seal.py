"""What a manager says when an older database was put back."""

from django import forms
from django.utils.translation import gettext_lazy as _


class RestoreForm(forms.Form):
    reason = forms.CharField(
        label=_("What happened"),
        max_length=300,
        widget=forms.Textarea({"rows": 3}),
        help_text=_("Such as: the disk died on Monday, and the copy of Sunday was put back."),
    )
