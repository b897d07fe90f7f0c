"""The day as of which a bundle is made."""

from django import forms
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Cut
from shared.clock import end_of
from shared.forms import DayInput

THEN, NOW = "then", "now"


class BundleForm(forms.Form):
    """Asks for a day of the site, today or before, and for what was known when."""

    day = forms.DateField(
        label=_("As of the end of"),
        widget=DayInput(),
        help_text=_("Today: as of this moment."),
    )
    known = forms.ChoiceField(
        label=_("For a day that is over"),
        choices=[
            (THEN, _("as it was known here at its end")),
            (NOW, _("with what was written down later, too")),
        ],
        widget=forms.RadioSelect,
        initial=THEN,
    )

    def __init__(self, *args, site, at, **kwargs):
        super().__init__(*args, **kwargs)
        self.site, self.at = site, at
        self.today = site.day(at)
        self.fields["day"].initial = self.today
        self.fields["day"].widget.attrs["max"] = self.today.isoformat()

    def clean_day(self):
        day = self.cleaned_data["day"]
        if day > self.today:
            raise forms.ValidationError(
                _("That day is not over at the site: choose today or before.")
            )
        return day

    def cut(self) -> Cut:
        """Return the two moments that a valid form asks for."""
        day = self.cleaned_data["day"]
        if day == self.today:
            return Cut(self.at, self.at)
        end = end_of(day, self.site.zone)
        return Cut(end, self.at if self.cleaned_data["known"] == NOW else end)
