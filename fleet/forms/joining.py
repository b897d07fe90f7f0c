"""How a cart joined the fleet: told of a single one without a sheet, or told again."""

from decimal import Decimal
from functools import cached_property

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.actions.register import cart_id_of
from fleet.doubts import DISTANCE, HOURS, meters_of
from fleet.forms.cart import CartForm, DayField
from fleet.forms.register import RegisterFields
from fleet.forms.rounds import MeterField
from fleet.forms.tyres import TyreCodeField, TyreFields
from fleet.gather import JOINED, TYRES_BEFORE
from fleet.models import Cart, Reading, UseClass
from fleet.standing import CartFacts, facts_of
from fleet.tyre_codes import read_tyre_code
from shared.clock import noon_of
from shared.dates import shown_day
from shared.facts import TICK
from shared.models import Change, new_id
from shared.units import Unreadable, as_typed

MEASURES = (HOURS, DISTANCE)
TYRE = ("tyre", "tyre_mm", "diameter_from", "measured", "measured_twice")


class JoinForm(TyreFields, RegisterFields):
    """What is known of the cart and what its meters show; pressed twice, ``act`` is the same."""

    act = forms.UUIDField(widget=forms.HiddenInput)
    joined_on = DayField(
        label=gettext_lazy("In the fleet since"),
        help_text=gettext_lazy("Where a lift was put on here: no later than that day."),
    )
    hours = MeterField(HOURS, label=gettext_lazy("Hour meter shows now"))
    distance = MeterField(DISTANCE, label=gettext_lazy("Distance meter shows now"))
    has_lift = forms.BooleanField(
        required=False,
        label=gettext_lazy("It bears a lift: record next that it was fitted"),
        help_text=gettext_lazy("Until that is recorded the desk takes it for a plain cart."),
    )
    field_order = [
        *("act", "number", "serial", "joined_on", "use_class", "seats", "power"),
        *("tyre", "tyre_mm", "is_sure", "hours", "distance", "has_lift"),
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


class JoinAgainForm(TyreFields, CartForm):
    """How a cart joined, where it was told wrongly; what was told of it since stays."""

    number = forms.CharField(max_length=20, label=gettext_lazy("Painted number, then"))
    joined_on = DayField(label=gettext_lazy("In the fleet since"))
    use_class = forms.ChoiceField(choices=UseClass.choices, label=gettext_lazy("Use, then"))
    tyre = TyreCodeField(required=False, label=gettext_lazy("Tyres then, as written on them"))
    reason = forms.CharField(max_length=300, label=gettext_lazy("What was wrong"))
    field_order = [
        *("act", "number", "joined_on", "use_class", "tyre", "tyre_mm", "is_sure", "reason")
    ]

    def __init__(self, data=None, *, cart, viewer):
        self.act_sent = data and data.get("act")
        super().__init__(data, cart=cart, viewer=viewer)

    def first_values(self):
        told = self.joining.value
        return {
            "number": told["number"],
            "joined_on": self.day_told,
            "use_class": told.get("use_class", Cart.use_class.field.default),
            "tyre": told.get("tyre", ""),
            "tyre_mm": told.get("measured") or _said_beside_the_code(told, self.cart.site.units),
        }

    def build(self):
        self.add_tyre_fields(self.cart.site.units)
        self.order_fields(self.field_order)
        if self.joining.site_id != self.cart.site_id:
            self.missing = _("It joined at another site: only its manager tells that again.")

    @cached_property
    def joining(self):
        """The change that is told again, also where this very page has told it already."""
        stands = Change.objects.standing().get(cart_id=self.cart.pk, what=JOINED)
        is_sent_twice = stands.corrects is not None and str(stands.pk) == self.act_sent
        return Change.objects.get(pk=stands.corrects) if is_sent_twice else stands

    @property
    def day_told(self):
        return self.cart.site.day(self.joining.done_at)

    @cached_property
    def first_after(self):
        """The moment of what first befell the cart once it had joined; None of nothing.

        An old lift may have been fitted, and a meter read, before that.
        """
        facts = facts_of([self.cart.pk])[self.cart.pk]
        others = [row for row in facts.changes if row.what not in (JOINED, TYRES_BEFORE)]
        others += [*facts.meters, *facts.readings, *facts.rounds, *facts.tags, *facts.orders]
        moments = [row.done_at for row in others] + [one.from_at for one in facts.chapters]
        return min((at for at in moments if at > self.joining.done_at), default=None)

    def clean_joined_on(self):
        day = self.cleaned_data["joined_on"]
        last, words = self.today, _("A day up to %s.")
        if self.first_after:
            last = max(self.day_told, self.cart.site.day(self.first_after))
            words = _("A day up to %s: something is told of the cart that day.")
        if day > last:
            raise ValidationError(words % shown_day(last, self.cart.site.date_order))
        return day

    def clean(self):
        said = super().clean()
        if self.missing:
            raise ValidationError(self.missing)
        if said.get("tyre_mm") and not said.get("tyre"):
            self.add_error("tyre", _("Type also what is written on the tyres."))
        if not self.errors and self.value() == self.joining.value and not self.when():
            raise ValidationError(_("Nothing is changed here."))
        return said

    def value(self):
        """Return the whole value of the joining, with what is told again in its place."""
        said = self.cleaned_data
        stays = {name: value for name, value in self.joining.value.items() if name not in TYRE}
        if not self.are_tyres_told():
            tyre = {name: value for name, value in self.joining.value.items() if name in TYRE}
        else:
            tyre = self.tyre_value() if said["tyre"] else {}
        return stays | {"number": said["number"], "use_class": said["use_class"]} | tyre

    def are_tyres_told(self):
        return not {"tyre", "tyre_mm"}.isdisjoint(self.changed_data)

    def when(self):
        """Return the times of the joining as they change: noon of its day, before all else."""
        day = self.cleaned_data["joined_on"]
        if day == self.day_told:
            return {}
        noon = noon_of(day, self.cart.site.zone)
        before_all = self.first_after - TICK if self.first_after else noon
        return {"done_at": min(noon, before_all), "day_only": True}


def _said_beside_the_code(told, units):
    """Return a diameter that the code on the tyre does not say itself, as a person types it."""
    if told.get("tyre_mm") is None:
        return ""
    try:
        code_mm = read_tyre_code(told.get("tyre", "")).diameter_mm
    except Unreadable:
        code_mm = None
    mm = Decimal(told["tyre_mm"])
    return "" if code_mm == mm else as_typed(mm, "length", units)
