"""Asks for the two times of a past page, in the site's time."""

from django import forms
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Cut
from fleet.moments import NotAMoment, cut_of, moment_of
from shared.dates import shown_moment


class MomentInput(forms.DateTimeInput):
    """The browser's own calendar and clock, to the second and finer."""

    input_type = "datetime-local"

    def __init__(self):
        super().__init__(attrs={"step": "any"})


class PastForm(forms.Form):
    """Two moments as text; ``twice`` holds (words, address) of those a text may mean."""

    happened = forms.CharField(
        label=_("Happened by"), required=False, max_length=40, widget=MomentInput()
    )
    known = forms.CharField(
        label=_("Known by"),
        required=False,
        max_length=40,
        widget=MomentInput(),
        help_text=_("Left empty: with all that is known now."),
    )

    def __init__(self, *args, site, at, **kwargs):
        super().__init__(*args, auto_id="past-%s", **kwargs)
        self.site, self.at = site, at
        self.twice = []

    def clean_happened(self):
        return self._moment("happened")

    def clean_known(self):
        return self._moment("known")

    def _moment(self, name):
        text = self.cleaned_data[name]
        try:
            return moment_of(text, self.site, at=self.at) if text else None
        except NotAMoment as error:
            self.twice += [self._choice(name, local) for local in error.choices]
            raise forms.ValidationError(str(error)) from error

    def _choice(self, name, local):
        """Return the words and the address of one of the moments that came twice."""
        address = self.data.copy()
        address[name] = local.isoformat()
        return shown_moment(local, local.tzinfo.key, self.site.date_order), address.urlencode()

    def cut(self) -> Cut:
        """Return the two moments that a valid form asks for."""
        said = self.cleaned_data
        return cut_of(said["happened"], said["known"], at=self.at)
