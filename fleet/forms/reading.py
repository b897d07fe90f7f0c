"""A meter reading by itself, with one plain question where a figure looks wrong."""

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fleet.doubts import (
    CHANGED,
    DISTANCE,
    EARLIER,
    HOURS,
    OTHER_CART,
    REASONS,
    RIGHT,
    ROLLED,
    SLIP,
    WHY,
    hours_run,
    question,
)
from fleet.forms.rounds import MeterField
from fleet.models import Reading
from shared.models import new_id

MEASURES = (HOURS, DISTANCE)


class ReadingForm(forms.Form):
    """Either meter or both. ``meters`` are those of fleet.doubts, by measure."""

    act = forms.UUIDField(widget=forms.HiddenInput)
    hours = MeterField(HOURS, label=gettext_lazy("Hour meter"))
    distance = MeterField(DISTANCE, label=gettext_lazy("Distance meter"))
    why = forms.ChoiceField(required=False, choices=[*WHY.items()], widget=forms.RadioSelect)

    def __init__(self, data=None, *, meters, at):
        super().__init__(data, initial={"act": new_id()})
        self.meters, self.at = meters, at
        self.doubted = None
        for measure in MEASURES:
            self.fields[measure].of(meters[measure])

    def clean(self):
        said = super().clean()
        if not self.errors and not any(said.get(measure) for measure in MEASURES):
            self.add_error(None, _("Type what one of the meters shows."))
        self._judge(HOURS, None)
        if self.doubted is None:
            self._judge(DISTANCE, hours_run(self.meters, self.shown(HOURS), self.at))
        return said

    def shown(self, measure):
        """Return a figure in its meter's own unit, None where none was typed."""
        measured = self.cleaned_data.get(measure)
        return None if measured is None else self.meters[measure].read(measured)

    def _judge(self, measure, run):
        value, meter = self.shown(measure), self.meters[measure]
        doubt = None if value is None else meter.doubt(value, self.at, run)
        if doubt is None:
            return
        self.doubted = measure
        field = self.fields["why"]
        # drawn from the bound field, which was made before the question was known
        self["why"].label = question(meter, doubt, value, self.at)
        field.choices = [(why, WHY[why]) for why in REASONS[doubt]]
        why = self.cleaned_data.get("why")
        if why == SLIP:
            self.add_error(measure, _("Type the figure that the meter shows."))
        elif why not in (RIGHT, ROLLED, CHANGED, EARLIER, OTHER_CART) or why not in REASONS[doubt]:
            self.add_error("why", _("Press what it is."))

    @property
    def is_changed_meter(self):
        return self.doubted is not None and self.cleaned_data["why"] == CHANGED

    @property
    def is_earlier_wrong(self):
        return self.doubted is not None and self.cleaned_data["why"] == EARLIER

    @property
    def is_other_cart(self):
        return self.doubted is not None and self.cleaned_data["why"] == OTHER_CART

    def visible(self):
        """Return the fields to draw: the question only where it is asked."""
        return [field for field in self if field.name != "why" or self.doubted]

    def values(self, role):
        """Return what meters.add_reading takes."""
        typed = [self.cleaned_data[measure] for measure in MEASURES]
        why = self.cleaned_data["why"] if self.doubted else ""
        return {
            "id": self.cleaned_data["act"],
            "hours": self.shown(HOURS),
            "distance": self.shown(DISTANCE),
            "typed": "; ".join(one.typed.strip() for one in typed if one),
            "hours_rolled": self.doubted == HOURS and why == ROLLED,
            "distance_rolled": self.doubted == DISTANCE and why == ROLLED,
            "doubted": "questioned" if why == RIGHT else "",
            "source": _source(role),
        }


def _source(role):
    return Reading.Source.MECHANIC if role == "mechanic" else Reading.Source.DESK
