from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext, pgettext_lazy
from django.utils.translation import gettext_lazy as _

from lifts.fields import PressedField, QuantityField, si, typed, unit_at
from lifts.models import Fitting, Kit
from lifts.wheels import Wheel
from shared.clock import noon_of
from shared.dates import shown_day
from shared.forms import DayInput
from shared.models import new_id

MOST_RISE_MM = 600
MOST_TYRE_MM = 900
FEW_LINES = {"rows": 3}


def _length(site, label, most_mm):
    unit = unit_at(site, "length")
    return QuantityField("length", unit=unit, most_si=most_mm, required=False, label=label)


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
        if not self.first_day <= day <= self.today:
            order = self.cart.site.date_order
            span = [shown_day(one, order) for one in (self.first_day, self.today)]
            said = gettext("A day from %(first)s to %(last)s")
            raise ValidationError(said % {"first": span[0], "last": span[1]})
        return day

    def when(self):
        """Return the times of the act: now for today, else noon of its day."""
        day = self.cleaned_data["done_on"]
        if day == self.today:
            return {}
        return {"done_at": noon_of(day, self.cart.site.zone), "day_only": True}


class FittingForm(ActForm):
    kit = forms.ModelChoiceField(Kit.objects.none(), label=_("Kit"))
    fitted_by = forms.CharField(required=False, max_length=120, label=_("Fitted by"))
    firm = forms.CharField(required=False, max_length=120, label=_("Firm, or own shop"))
    paperwork = forms.ChoiceField(choices=Fitting.Paperwork.choices, label=_("Paperwork"))
    tyre_before = forms.CharField(required=False, max_length=40, label=_("Tyres before"))
    tyre_after = forms.CharField(required=False, max_length=40, label=_("Tyres now"))
    u_bolt_batch = forms.CharField(required=False, max_length=60, label=_("U-bolt batch"))
    note = forms.CharField(required=False, widget=forms.Textarea(attrs=FEW_LINES), label=_("Note"))

    cautions = (
        _("Nobody under a cart on a jack alone: stands beneath the chassis, rocked first."),
        _("Keep a jack under the axle when a U-bolt comes off; one side at a time."),
        _("The kit maker’s and the cart maker’s instructions come first."),
    )

    def build(self):
        site = self.cart.site
        self.fields["kit"].queryset = Kit.objects.current().filter(site=site)
        for name, label, most_mm in (
            ("rise_front", _("Rise in front, measured"), MOST_RISE_MM),
            ("rise_rear", _("Rise behind, measured"), MOST_RISE_MM),
            ("tyre_before_size", _("Diameter before, measured"), MOST_TYRE_MM),
            ("tyre_after_size", _("Diameter now, measured"), MOST_TYRE_MM),
        ):
            self.fields[name] = _length(site, label, most_mm)

    def about(self):
        """Return the fitting's own values."""
        said = self.cleaned_data
        names = ("fitted_by", "firm", "paperwork", "tyre_before", "tyre_after", "u_bolt_batch")
        return {
            **{name: said[name] for name in (*names, "note")},
            "rise_front_typed": typed(said["rise_front"]),
            "rise_front_mm": si(said["rise_front"]),
            "rise_rear_typed": typed(said["rise_rear"]),
            "rise_rear_mm": si(said["rise_rear"]),
            "tyre_before_mm": si(said["tyre_before_size"]),
            "tyre_after_mm": si(said["tyre_after_size"]),
        }


class RemovalForm(ActForm):
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
