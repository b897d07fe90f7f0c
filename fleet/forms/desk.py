from django import forms
from django.utils.translation import gettext_lazy as _

from fleet.models import Report
from shared.models import new_id


class ReportForm(forms.Form):
    """One of the six buttons: what was noticed, with a few words if there are any."""

    act = forms.UUIDField(widget=forms.HiddenInput)
    noticed = forms.ChoiceField(choices=Report.Noticed.choices)
    note = forms.CharField(required=False, max_length=500, label=_("In a few words"))

    def __init__(self, data=None):
        super().__init__(data, initial={"act": new_id()})
