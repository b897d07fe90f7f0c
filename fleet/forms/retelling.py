"""What becomes of a part of a round that is told again."""

from django import forms
from django.utils.translation import gettext_lazy as _

UNSAID, AGAIN, KEPT = "unsaid", "again", "kept"
SAID_AGAIN = (AGAIN, _("Told again, as filled in below"))


class StayForm(forms.Form):
    """A part stays as it was, unless that is said, or something is filled in, otherwise."""

    use_required_attribute = False

    stays = forms.ChoiceField(
        choices=[(UNSAID, _("Stays as it was")), SAID_AGAIN],
        widget=forms.RadioSelect(attrs={"data-sent-too": True}),
        label=_("This part"),
        initial=UNSAID,
    )

    @property
    def said(self):
        return self["stays"].data

    def offer_to_leave_out(self):
        """Let what was filled in be left out again: a pressed button cannot be let go."""
        stays = (KEPT, _("Stays as it was: leave out what is filled in below"))
        self.fields["stays"].choices = [SAID_AGAIN, stays]
        if self.said != KEPT:
            self.data = {self.add_prefix("stays"): AGAIN}
