"""What is asked of a bundle: its two moments, and what of the site it tells."""

from django import forms
from django.utils.translation import gettext_lazy as _

from fleet.forms.past import PastForm
from shared.forms import DayInput


class BundleForm(PastForm):
    """Asks for two moments of the site, none of them to come; see fleet.moments.cut_of."""

    from_day = forms.DateField(
        label=_("From day"),
        required=False,
        widget=DayInput(),
        help_text=_("What was done or came in from that day on. Left empty: from the first."),
    )
    lifted_only = forms.BooleanField(
        label=_("Only carts that have or had a lift"),
        required=False,
        help_text=_("Of the others, nothing but a hash of each entry is in it."),
    )
    with_names = forms.BooleanField(
        label=_("With the names of people and owners"),
        required=False,
        help_text=_(
            "Without, they stand as references such as P-0007. Words that people typed, such as "
            "notes or who fitted a lift, may hold names all the same."
        ),
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["happened"].help_text = _("Left empty: the moment of Known by.")
        self.fields["known"].help_text = _("Left empty: now. Both left empty: as it stands now.")

    def clean(self):
        said = super().clean()
        from_day = said.get("from_day")
        if from_day and not self.errors and from_day > self.site.day(self.cut().happened_by):
            self.add_error("from_day", _("That day is after what is asked for had happened."))
        return said

    def scope(self) -> dict:
        """Return what a valid form asks for beside the moments."""
        return {name: self.cleaned_data[name] for name in ("from_day", "lifted_only", "with_names")}
