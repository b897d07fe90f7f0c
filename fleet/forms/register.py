"""What the register says of a cart: told when it joins the fleet, and changed later."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.actions.register import SerialTaken
from fleet.forms.cart import CartForm, DayField
from fleet.models import Cart, UseClass
from fleet.sheet_dates import EARLIEST_YEAR
from shared.dates import shown_day


class RegisterFields(forms.Form):
    number = forms.CharField(max_length=20, label=gettext_lazy("Painted number"))
    area = forms.CharField(required=False, max_length=40, label=gettext_lazy("Area"))
    bay = forms.CharField(required=False, max_length=40, label=gettext_lazy("Bay"))
    use_class = forms.ChoiceField(choices=UseClass.choices, label=gettext_lazy("Use"))
    seats = forms.IntegerField(
        required=False, min_value=1, max_value=20, label=gettext_lazy("Seats")
    )
    power = forms.ChoiceField(
        required=False,
        choices=[("", gettext_lazy("not known")), *Cart.Power.choices],
        label=gettext_lazy("Power"),
    )
    serial = forms.CharField(required=False, max_length=60, label=gettext_lazy("Serial number"))
    colour = forms.CharField(required=False, max_length=40, label=gettext_lazy("Colour"))
    model_year = forms.IntegerField(
        required=False, min_value=EARLIEST_YEAR, max_value=2100, label=gettext_lazy("Model year")
    )
    owner_ref = forms.CharField(required=False, max_length=60, label=gettext_lazy("Owner’s file"))
    insurer_told_on = DayField(required=False, label=gettext_lazy("Insurer told of the lift on"))

    def clean_insurer_told_on(self):
        day = self.cleaned_data["insurer_told_on"]
        if day and day > self.today:
            raise ValidationError(_("A day up to today: nothing yet to be done is recorded."))
        return day

    def register_values(self):
        """Return {column: value as plain JSON}."""
        said = {name: self.cleaned_data[name] for name in RegisterFields.base_fields}
        if said["insurer_told_on"]:
            said["insurer_told_on"] = said["insurer_told_on"].isoformat()
        return said


class RegisterForm(RegisterFields, CartForm):
    """What the register says of a cart; only what is changed is recorded."""

    def first_values(self):
        return {name: getattr(self.cart, name) for name in RegisterFields.base_fields}

    def changed_values(self):
        """Return {column: new value as plain JSON} of what differs from the cart today."""
        said, before = self.register_values(), self.first_values()
        return {name: said[name] for name in said if self.cleaned_data[name] != before[name]}


def say_taken(form, taken, site, today):
    """Have a form say that another cart has the number or the serial number."""
    name, words = "number", _("Another cart carries number %(number)s today.")
    if isinstance(taken, SerialTaken):
        name, words = "serial", _("Cart %(number)s has the serial number %(serial)s.")
    elif taken.until == today:
        words = _("Another cart carried number %(number)s until today: it is free tomorrow.")
    elif taken.until:
        words = _("Another cart carried number %(number)s until %(until)s: a day after that.")
    until = getattr(taken, "until", None)
    said = {**vars(taken), "until": until and shown_day(until, site.date_order)}
    form.add_error(name if name in form.fields else None, words % said)
