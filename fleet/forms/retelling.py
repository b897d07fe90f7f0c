"""What becomes of a part of a round that is told again."""

from django import forms
from django.utils.translation import gettext_lazy as _

AGAIN, KEPT = "again", "kept"


class StayForm(forms.Form):
    """A part stays as it was, unless that is said, or something is filled in, otherwise."""

    stays = forms.ChoiceField(
        required=False,
        choices=[("", _("Stays as it was")), (AGAIN, _("Told again, as filled in below"))],
        widget=forms.RadioSelect,
        label=_("This part"),
        initial="",
    )

    def offer_to_leave_out(self):
        """Let what was filled in be left out again: a pressed button cannot be let go."""
        stays = (KEPT, _("Stays as it was: leave out what is filled in below"))
        self.fields["stays"].choices = [(AGAIN, _("Told again, as filled in below")), stays]
