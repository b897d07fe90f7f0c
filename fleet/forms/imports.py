"""The upload of a sheet."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.kinds import register
from fleet.models import ImportRun
from fleet.sheets import TOO_LARGE, Words
from fleet.start_day import too_far
from shared.forms import DayInput


def sheet_choices():
    """Return (code, title) of each kind of sheet, in the order in which a fleet comes in."""
    return [(code, register.importers[code].title) for code in ImportRun.Sheet.values]


class ImportForm(forms.Form):
    sheet = forms.ChoiceField(
        label=gettext_lazy("What is in the sheet"),
        choices=sheet_choices,
        widget=forms.RadioSelect,
        initial=ImportRun.Sheet.CARTS,
    )
    file = forms.FileField(
        label=gettext_lazy("File"),
        max_length=200,
        help_text=gettext_lazy("CSV or XLSX. Nothing is written before you have seen a preview."),
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv,.xlsx"}),
    )
    start_day = forms.DateField(
        label=gettext_lazy("Start day"),
        required=False,
        widget=DayInput(),
        help_text=gettext_lazy(
            "For lifts alone: those fitted before it run no clocks backwards. "
            "Left empty it is the site's start day, or today."
        ),
    )

    def __init__(self, site, *args, today, **kwargs):
        super().__init__(*args, initial={"start_day": site.start_day}, **kwargs)
        self.site, self.today = site, today

    def clean(self):
        said = self.cleaned_data
        file = said.get("file")
        if file and "sheet" in said:
            self._refuse_size(file, register.importers[said["sheet"]].limits.file_bytes)
        if "sheet" in said and register.importers[said["sheet"]].takes_start_day:
            self._refuse_far(said.get("start_day") or self.site.start_day)
        return said

    def _refuse_far(self, day):
        if far := too_far(day, self.site, self.today):
            self.add_error("start_day", far)

    def _refuse_size(self, file, most):
        if file.size > most:
            megabytes = -(-file.size // 1_000_000)
            said = {"name": file.name, "megabytes": megabytes, "most": most // 1_000_000}
            self.add_error("file", Words(TOO_LARGE, said).said(_))

    def day_asked(self):
        """Return the start day of a list of lifts; no other sheet has one."""
        takes = register.importers[self.cleaned_data["sheet"]].takes_start_day
        return self.cleaned_data["start_day"] if takes else None


class ConfirmForm(forms.Form):
    """The word of the manager that what is hardly likely is right."""

    accept_questioned = forms.BooleanField(
        required=False, label=gettext_lazy("I looked at what is in question: take it as it stands")
    )
