"""A cart that joins the fleet by itself, without a sheet."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.actions.register import cart_id_of
from fleet.doubts import DISTANCE, HOURS, meters_of
from fleet.forms.cart import DayField
from fleet.forms.register import RegisterFields
from fleet.forms.rounds import MeterField
from fleet.forms.tyres import TyreFields
from fleet.models import Reading
from fleet.standing import CartFacts
from shared.clock import noon_of
from shared.models import new_id

MEASURES = (HOURS, DISTANCE)


class JoinForm(TyreFields, RegisterFields):
    """What is known of the cart and what its meters show; pressed twice, ``act`` is the same."""

    act = forms.UUIDField(widget=forms.HiddenInput)
    joined_on = DayField(label=gettext_lazy("In the fleet since"))
    hours = MeterField(HOURS, label=gettext_lazy("Hour meter shows now"))
    distance = MeterField(DISTANCE, label=gettext_lazy("Distance meter shows now"))
    field_order = [
        *("act", "number", "serial", "joined_on", "use_class", "seats", "power"),
        *("tyre", "tyre_mm", "is_sure", "hours", "distance"),
        *("area", "bay", "colour", "model_year", "owner_ref", "insurer_told_on"),
    ]

    def __init__(self, data=None, *, site, at):
        self.site, self.at, self.today = site, at, site.day(at)
        super().__init__(data, initial={"act": new_id(), "joined_on": self.today})
        self.fields["tyre"].required = False
        self.add_tyre_fields(site.units)
        for measure, meter in meters_of(CartFacts(None), site).items():
            self.fields[measure].of(meter)
        self.order_fields(self.field_order)

    def clean_joined_on(self):
        day = self.cleaned_data["joined_on"]
        if day > self.today:
            raise ValidationError(_("A day up to today: add the cart once it is there."))
        return day

    def clean(self):
        said = super().clean()
        if said.get("tyre_mm") and not said.get("tyre"):
            self.add_error("tyre", _("Type also what is written on the tyres."))
        return said

    @property
    def cart_id(self):
        return cart_id_of(self.cleaned_data["act"])

    def values(self):
        """Return what register.join_cart takes beside the site and who tells it."""
        said = self.cleaned_data
        values = {name: value for name, value in self.register_values().items() if value}
        if said["tyre"]:
            values |= self.tyre_value()
        return {"values": values, "shown": self._shown(), "id": said["act"], **self._when()}

    def _shown(self):
        read = {measure: self.cleaned_data[measure] for measure in MEASURES}
        figures = {
            measure: self.fields[measure].meter.read(one) for measure, one in read.items() if one
        }
        typed = "; ".join(one.typed.strip() for one in read.values() if one)
        return figures and {**figures, "typed": typed, "source": Reading.Source.DESK}

    def _when(self):
        day = self.cleaned_data["joined_on"]
        if day == self.today:
            return {}
        return {"done_at": noon_of(day, self.site.zone), "day_only": True}
