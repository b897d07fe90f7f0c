"""The form of a cart's weighing, from which its stability is computed."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts.actions.stability import steps_of
from lifts.fields import QuantityField, YesNoField, si, typed, unit_at
from lifts.forms import ActForm
from lifts.models import StabilityMeasure
from lifts.stances import weighed
from lifts.tipping import stance_of

STEPS = 6  # three up and three down: ISO 10392 asks for three or more
MOST_KG, MOST_MM = 5000, 6000
# (name, quantity, label, whether it must be there)
FIGURES = (
    ("mass", "mass", _("Mass of the empty cart"), True),
    ("track", "length", _("Track: between the middles of the tyres of one axle"), True),
    ("cg", "length", _("Height of the centre of gravity, if it was told"), False),
    ("wheelbase", "length", _("Wheelbase: from axle to axle"), False),
    ("hub_height", "length", _("Height of the hubs, with the cart level"), False),
    ("people", "mass", _("People: mass of all together"), False),
    ("seated", "length", _("People: height of their middle above the ground, seated"), False),
)
FOR_STEPS = ("wheelbase", "hub_height")


class StabilityForm(ActForm):
    """Figures as typed; either the height was told, or one step of an axle lift at least."""

    is_lifted = YesNoField(label=_("Was a lift on the cart when it was weighed?"))
    note = forms.CharField(
        required=False,
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 3}),
        label=_("Note: battery, roof, rear seat, box, how it was weighed"),
    )

    def build(self):
        site = self.cart.site
        for name, quantity, label, is_needed in FIGURES:
            self.fields[name] = _figure(site, quantity, label, is_needed)
        for step in range(1, STEPS + 1):
            said = {"step": step}
            raised, gained = _("Step %(step)s: axle raised by"), _("Step %(step)s: other gained")
            self.fields[f"raised_{step}"] = _figure(site, "length", raised % said, False)
            self.fields[f"gained_{step}"] = _figure(site, "mass", gained % said, False)
        if not self.is_bound:
            self.fields["is_lifted"].initial = "yes" if self.cart.is_lifted else "no"

    def top(self):
        names = ("act", "done_on", "is_lifted", "mass", "track", "people", "seated", "reason")
        return [self[name] for name in names if name in self.fields]

    def told(self):
        return [self["cg"]]

    def lifting(self):
        return [self[name] for name in FOR_STEPS]

    def steps(self):
        """Return the pairs of fields of each step."""
        return [(self[f"raised_{n}"], self[f"gained_{n}"]) for n in range(1, STEPS + 1)]

    def clean(self):
        said = super().clean()
        self._pair("people", "seated")
        for step in range(1, STEPS + 1):
            self._pair(f"raised_{step}", f"gained_{step}")
        if not self.errors:
            self._refuse_unless_one_way(said)
        if not self.errors:
            self._refuse_what_cannot_be()
        return said

    def _pair(self, one, other):
        for name, beside in ((one, other), (other, one)):
            is_there = self.cleaned_data.get(beside) is not None
            if is_there and self.cleaned_data.get(name) is None and name not in self.errors:
                self.add_error(name, gettext("The two go together."))

    def _refuse_unless_one_way(self, said):
        if bool(said["cg"]) == bool(self._pairs()):
            raise ValidationError(
                gettext("Either the height was told, or the cart was weighed with an axle raised.")
            )
        for name in FOR_STEPS:
            if self._pairs() and said[name] is None:
                self.add_error(name, gettext("An axle lift needs this too."))

    def _refuse_what_cannot_be(self):
        measure = StabilityMeasure(**self.about())
        try:
            stance_of(weighed(measure, self.lines()))
        except ValueError as error:
            raise ValidationError(str(error)) from error

    def _pairs(self):
        said = self.cleaned_data
        pairs = [(said[f"raised_{n}"], said[f"gained_{n}"]) for n in range(1, STEPS + 1)]
        return [pair for pair in pairs if pair[0] is not None]

    def lines(self):
        return steps_of(self._pairs())

    def about(self):
        """Return the measure's own values."""
        said = self.cleaned_data
        values = {"is_lifted": said["is_lifted"], "note": said["note"]}
        for name, quantity, _label, _is_needed in FIGURES:
            ending = "kg" if quantity == "mass" else "mm"
            values |= {f"{name}_typed": typed(said[name]), f"{name}_{ending}": si(said[name])}
        return values


class CorrectForm(StabilityForm):
    """The same, told again with a reason; the day stays."""

    reason = forms.CharField(max_length=300, label=_("Why it is told again"))

    def build(self):
        super().build()
        del self.fields["done_on"]


def _figure(site, quantity, label, is_needed):
    most = MOST_KG if quantity == "mass" else MOST_MM
    unit = unit_at(site, quantity)
    return QuantityField(quantity, unit=unit, most_si=most, required=is_needed, label=label)


def first_values(measure, steps):
    """Return what a form that tells a measure again begins with: all as it was typed."""
    values = {f"{name}": getattr(measure, f"{name}_typed") for name, *_rest in FIGURES}
    values |= {"is_lifted": "yes" if measure.is_lifted else "no", "note": measure.note}
    for place, step in enumerate(steps, start=1):
        values |= {f"raised_{place}": step.raised_typed, f"gained_{place}": step.gained_typed}
    return values
