from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext, pgettext_lazy
from django.utils.translation import gettext_lazy as _

from lifts.fields import PressedField
from lifts.wheels import Wheel
from shared.clock import noon_of
from shared.dates import shown_day
from shared.forms import DayInput
from shared.models import new_id

MOST_RISE_MM = 600
MOST_TYRE_MM = 900
FEW_LINES = {"rows": 3}


class ActForm(forms.Form):
    """An act at a cart on a day, today or before. ``act`` makes a second press the same act."""

    act = forms.UUIDField(widget=forms.HiddenInput)
    done_on = forms.DateField(widget=DayInput, label=_("Done on"))

    def __init__(self, cart, today, data=None, *, first_day=None):
        super().__init__(data, initial={"act": new_id(), "done_on": today})
        self.cart, self.today = cart, today
        self.first_day = first_day or cart.joined_on
        self.build()

    def build(self):
        """Add the fields that depend on the cart."""

    def clean_done_on(self):
        day = self.cleaned_data["done_on"]
        if not (self.first_day <= day <= self.today or self.takes(day)):
            order = self.cart.site.date_order
            span = [shown_day(one, order) for one in (self.first_day, self.today)]
            said = gettext("A day from %(first)s to %(last)s")
            said %= {"first": span[0], "last": span[1]}
            raise ValidationError([said, *self.words_for(day)])
        return day

    def takes(self, day):
        """Whether a day outside is one of this act all the same."""
        return False

    def words_for(self, day):
        """Yield what to do instead about a day outside."""
        return ()

    def when(self):
        """Return the times of the act: now for today, else noon of its day."""
        day = self.cleaned_data["done_on"]
        if day == self.today:
            return {}
        return {"done_at": noon_of(day, self.cart.site.zone), "day_only": True}


class RemovalForm(ActForm):
    cautions = (
        _("Take the warning label off where it says what is no longer true."),
        _("The stock joints are new again: look at them after 5 h or 25 mi, and after 25 h."),
        _("Camber, toe and speed are no longer what was measured. Tell the insurer."),
    )

    reason = forms.CharField(
        widget=forms.Textarea(attrs=FEW_LINES), label=_("Why it was taken off")
    )

    def build(self):
        told_late = _("Told more than 7 days late, its work runs on until it is told.")
        self.fields["done_on"].help_text = told_late


class WheelOffForm(ActForm):
    wheel = PressedField(choices=Wheel.choices, label=_("Which wheel was off?"))
    reason = forms.CharField(
        required=False, max_length=200, label=pgettext_lazy("wheel off", "Why")
    )
    is_tyre_changed = forms.BooleanField(required=False, label=_("Its tyre was changed"))
