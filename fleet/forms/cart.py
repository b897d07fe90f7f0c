"""What may be recorded of a cart from its page."""

from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MinValueValidator
from django.db.models import Max
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.doubts import meters_of, question, until
from fleet.forms.tyres import DiameterField, TyreFields
from fleet.gather import LAID_UP, WOKEN
from fleet.kinds import register
from fleet.models import MeterFitted
from fleet.reading_doubts import Doubt
from fleet.sheet_dates import EARLIEST_YEAR
from fleet.standing import running_of
from shared.clock import noon_of
from shared.dates import shown_day
from shared.models import Change, Role, Site, new_id
from shared.units import UNITS_OF

FARTHEST_ORDER = timedelta(days=366)


class DayField(forms.DateField):
    """A day of a year that a sheet may name too."""

    default_validators = [
        MinValueValidator(
            date(EARLIEST_YEAR, 1, 1),
            gettext_lazy("A day from %(limit_value)s on, the year in full."),
        )
    ]
    widget = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})


class FigureField(forms.DecimalField):
    """A figure as a meter shows it."""

    def __init__(self, **kwargs):
        super().__init__(min_value=0, max_digits=12, decimal_places=3, **kwargs)
        self.widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})


class CartForm(forms.Form):
    """One act at a cart; ``act`` makes a second press the same act."""

    act = forms.UUIDField(widget=forms.HiddenInput)
    missing = ""  # what is to be there first: said in place of the form

    def __init__(self, data=None, *, cart, viewer):
        self.cart, self.viewer = cart, viewer
        self.today = cart.site.day(viewer.at)
        super().__init__(data, initial={"act": new_id(), **self.first_values()})
        self.build()

    def first_values(self):
        return {}

    def build(self):
        """Add the fields that depend on the cart."""


class DatedForm(CartForm):
    """An act on a day, today or before, but not before the last of what it ``follows``."""

    follows = ""
    done_on = DayField(label=gettext_lazy("Done on"))

    def first_values(self):
        return {"done_on": self.today}

    def clean_done_on(self):
        day = self.cleaned_data["done_on"]
        first = self.cart.joined_on
        if self.followed_at:
            first = max(first, self.cart.site.day(self.followed_at))
        if not first <= day <= self.today:
            order = self.cart.site.date_order
            span = [shown_day(one, order) for one in (first, self.today)]
            raise ValidationError(
                _("A day from %(first)s to %(last)s.")
                % dict(zip(("first", "last"), span, strict=True))
            )
        return day

    @property
    def done_at(self):
        """The moment of the act: None, which is now, for today; else noon of its day."""
        day = self.cleaned_data["done_on"]
        if day == self.today:
            return None
        noon = noon_of(day, self.cart.site.zone)
        return max(noon, self.followed_at or noon)

    @cached_property
    def followed_at(self):
        changes = Change.objects.standing().filter(cart_id=self.cart.pk)
        return changes.filter(what=self.follows).aggregate(last=Max("done_at"))["last"]


class NoteForm(CartForm):
    text = forms.CharField(
        max_length=2000, label=gettext_lazy("Note"), widget=forms.Textarea(attrs={"rows": 3})
    )


class WakeForm(DatedForm):
    """The day of waking."""

    follows = LAID_UP


class RestForm(DatedForm):
    follows = WOKEN
    done_on = DayField(
        label=gettext_lazy("Done on"),
        help_text=gettext_lazy("Told more than 7 days late, a lay-up begins when it is told."),
    )
    reason = forms.CharField(required=False, max_length=300, label=gettext_lazy("Why"))


class LeaveForm(DatedForm):
    done_on = DayField(
        label=gettext_lazy("Done on"),
        help_text=gettext_lazy("Told more than 7 days late, work runs on until it is told."),
    )
    reason = forms.CharField(max_length=300, label=gettext_lazy("Where it went"))


class TyreForm(TyreFields, DatedForm):
    """Other tyres."""

    def build(self):
        self.add_tyre_fields(self.cart.site.units)


class MoveForm(CartForm):
    to_site = forms.ModelChoiceField(Site.objects.none(), label=gettext_lazy("To which site"))
    reason = forms.CharField(required=False, max_length=300, label=gettext_lazy("Why"))

    def build(self):
        managed = [row.site_id for row in self.viewer.memberships if row.role == Role.MANAGER]
        others = Site.objects.visible_to(self.viewer).filter(pk__in=managed)
        others = others.exclude(pk=self.cart.site_id)
        self.fields["to_site"].queryset = others
        if not others.exists():
            self.missing = _(
                "You manage no other site, so there is none to move it to. A manager of the other "
                "site can make you a manager there, on its page People; then it is offered here."
            )


class OrderForm(CartForm):
    kind_code = forms.ChoiceField(label=gettext_lazy("Which work"))
    due_on = DayField(label=gettext_lazy("Due on"))
    stops = forms.BooleanField(
        required=False, label=gettext_lazy("The cart must not run once this is late")
    )
    reason = forms.CharField(max_length=300, label=gettext_lazy("Why it is ordered"))

    def first_values(self):
        return {"due_on": self.today}

    def build(self):
        whole = [kind for kind in register.kinds.values() if not _needs_subject(kind)]
        choices = sorted((str(kind.title), kind.code) for kind in whole)
        self.fields["kind_code"].choices = [(code, title) for title, code in choices]

    def clean_due_on(self):
        day = self.cleaned_data["due_on"]
        if not self.today <= day <= self.today + FARTHEST_ORDER:
            raise ValidationError(_("A day from today on, within a year."))
        return day


def _needs_subject(kind):
    return any("{subject}" in piece for piece in kind.content)


class MeterForm(DatedForm):
    measure = forms.ChoiceField(
        choices=MeterFitted.Measure.choices, label=gettext_lazy("Which meter")
    )
    start_shown = FigureField(label=gettext_lazy("The new meter shows"))
    old_final = FigureField(
        required=False,
        label=gettext_lazy("The old meter showed last"),
        help_text=gettext_lazy("Left empty, the use since its last reading is lost."),
    )
    rolls_at = FigureField(
        required=False,
        label=gettext_lazy("It starts again from zero at"),
        help_text=gettext_lazy("Such as 10,000.0 for four digits and one place."),
    )
    wheel_driven = forms.BooleanField(
        required=False, label=gettext_lazy("It counts turns of a wheel")
    )

    def build(self):
        units = UNITS_OF[self.cart.site.units]
        self.unit = self.cart.distance_unit or units["distance"]
        self.fields["set_for_mm"] = DiameterField(
            units["length"], required=False, label=_("Tyre diameter that it is set for")
        )
        self.fields["start_shown"].help_text = _("Hours, or %s.") % self.unit

    def clean_rolls_at(self):
        rolls_at = self.cleaned_data["rolls_at"]
        if rolls_at is not None and rolls_at <= Decimal(0):
            raise ValidationError(_("Above zero, or empty if it is not known."))
        return rolls_at

    def clean(self):
        said = super().clean()
        # sent twice, the new meter stands in the old one's place already
        is_judged = not self.errors and not MeterFitted.objects.filter(pk=said["act"]).exists()
        if is_judged and said["old_final"] is not None:
            self._judge_old(said["measure"], said["old_final"])
        return said

    def _judge_old(self, measure, shown):
        """Refuse a last figure that the old meter cannot have come to."""
        at = self.done_at or self.viewer.at
        facts = running_of([self.cart.pk])[self.cart.pk]
        meter = until(meters_of(facts, self.cart.site)[measure], at)
        doubt = meter.doubt(shown, at)
        if doubt in (Doubt.LOWER, Doubt.IMPOSSIBLE):
            mend = _("Take a wrong reading back first, or leave this empty.")
            self.add_error("old_final", [question(meter, doubt, shown, at), mend])

    def values(self):
        """Return what meters.fit_meter takes beside the cart."""
        said = self.cleaned_data
        names = ("measure", "start_shown", "old_final", "rolls_at", "wheel_driven", "set_for_mm")
        unit = "h" if said["measure"] == MeterFitted.Measure.HOURS else self.unit
        return {**{name: said[name] for name in names}, "unit": unit, "id": said["act"]}
