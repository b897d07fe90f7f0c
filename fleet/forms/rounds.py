"""What a mechanic types on a round's page beside its parts: the meters, the time, a note."""

from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

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
from fleet.tellings import typed_of
from shared.dates import comes_twice, moment_of_local, offset_of
from shared.units import Unreadable, printed, read_quantity

LONGEST_TYPED_CHARS = 36
LARGEST_SHOWN = Decimal(10_000_000)
YEARS = range(1970, 2200)
MEASURES = (HOURS, DISTANCE)
FIRST, SECOND = "first", "second"


TAKE_BACK_FIRST = gettext_lazy(
    "Leave this meter empty and save: a manager takes the wrong figure back on the cart’s page, "
    "and this one is recorded there then."
)


class MeterField(forms.CharField):
    """A meter's figure; cleans to a Measure, or None when empty."""

    def __init__(self, measure, **kwargs):
        self.measure = measure
        attrs = {"inputmode": "decimal", "autocomplete": "off"}
        super().__init__(
            required=False,
            max_length=LONGEST_TYPED_CHARS,
            widget=forms.TextInput(attrs),
            **kwargs,
        )

    def of(self, meter):
        """Ask for a meter's figure in its own unit; any other may be typed."""
        self.meter = meter
        self.label = f"{self.label} ({printed(meter.unit)})"

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        try:
            measure = read_quantity(text, self.measure, self.meter.unit)
        except Unreadable as error:
            raise forms.ValidationError(_(error.plain) % error.holes) from error
        if not 0 <= measure.si < LARGEST_SHOWN * self.meter.scale:
            raise forms.ValidationError(_("No meter shows “%(text)s”.") % {"text": text})
        return measure

    def run_validators(self, value):
        super().run_validators(value.typed if value else "")


class LocalMomentField(forms.CharField):
    """A local time as the browser's own field sends it; cleans to a datetime without a zone."""

    def __init__(self, **kwargs):
        widget = forms.TextInput({"type": "datetime-local"})
        super().__init__(required=False, max_length=26, widget=widget, **kwargs)

    def to_python(self, value):
        text = super().to_python(value)
        if not text:
            return None
        try:
            local = datetime.fromisoformat(text)
        except ValueError as error:
            raise forms.ValidationError(self.wanted()) from error
        # at the ends of the calendar no zone can be reckoned with
        if local.tzinfo is not None or local.year not in YEARS:
            raise forms.ValidationError(self.wanted())
        return local

    @staticmethod
    def wanted():
        return _("Write the day and time as 2026-03-02T14:30.")

    def run_validators(self, value):
        """Nothing more is asked of a time by itself."""


class RoundForm(forms.Form):
    """The round beside its parts. ``meters`` are those of fleet.doubts, by measure.

    ``earliest`` is the moment before which nothing can have been done at the cart;
    ``saved_at`` when the round was done, if this is a repeat. ``retold`` is the round that is
    told again, ``kept`` its reading, which stays where no figure is typed. A figure that is doubted
    asks one question, and the answer is kept with the round.
    """

    use_required_attribute = False

    cautions = forms.BooleanField(required=False, label=gettext_lazy("I have seen these"))
    hours = MeterField(HOURS, label=gettext_lazy("Hour meter"))
    hours_why = forms.ChoiceField(required=False, choices=[*WHY.items()], widget=forms.RadioSelect)
    distance = MeterField(DISTANCE, label=gettext_lazy("Distance meter"))
    distance_why = forms.ChoiceField(
        required=False, choices=[*WHY.items()], widget=forms.RadioSelect
    )
    done_at = LocalMomentField(
        label=gettext_lazy("Done at another time than now"),
        help_text=gettext_lazy(
            "Leave it empty for now. Written down later, it is marked so; more than 7 days after "
            "it was done, it closes nothing until a manager countersigns it."
        ),
    )
    done_which = forms.ChoiceField(
        required=False,
        choices=[(FIRST, ""), (SECOND, "")],
        widget=forms.RadioSelect,
        label=gettext_lazy("Which of the two"),
    )
    note = forms.CharField(
        required=False, max_length=2000, label=gettext_lazy("Note"), widget=forms.Textarea
    )
    why_corrected = forms.CharField(
        max_length=300,
        label=gettext_lazy("Why the first entry was wrong"),
        error_messages={
            "required": gettext_lazy("Say why, so that both entries can be understood.")
        },
    )

    def __init__(
        self,
        data=None,
        *,
        visit,
        meters,
        at,
        earliest,
        saved_at=None,
        seen=False,
        retold=None,
        kept=None,
    ):
        super().__init__(data)
        self.retold, self.kept = retold, kept
        self.visit, self.meters, self.at, self.earliest = visit, meters, at, earliest
        self.saved_at, self.cautions_seen = saved_at, seen
        self.doubts, self.questions, self.asks_which = {}, {}, False
        self.fields["note"].widget.attrs["rows"] = 2
        for measure in MEASURES:
            self.fields[measure].of(meters[measure])
        if retold is None:
            del self.fields["why_corrected"]
        else:
            self.fields["note"].initial = retold.note
            self.fields["done_at"].label = _("It was really done at")
            self.fields["done_at"].help_text = _("Left empty, its time stays as it was.")

    def clean(self):
        said = super().clean()
        if not self.cautions_seen and not said.get("cautions"):
            self.add_error("cautions", _("Read the cautions above and press this once a shift."))
        said["done_at"] = self._moment(said.get("done_at"))
        was_at = self.retold and self.retold.done_at
        run_at = said["done_at"] or self.saved_at or was_at or self.at
        self._judge(HOURS, run_at)
        run = hours_run(self.meters, None if HOURS in self.doubts else self.shown(HOURS), run_at)
        self._judge(DISTANCE, run_at, run)
        return said

    def shown(self, measure):
        """Return a figure in its meter's own unit, None where none was typed.

        A kept one is judged and told anew where its round is put at another time.
        """
        measured = self.cleaned_data.get(measure)
        if measured is not None:
            return self.meters[measure].read(measured)
        return self.kept_shown(measure) if self.cleaned_data.get("done_at") else None

    def kept_shown(self, measure):
        return getattr(self.kept, f"{measure}_shown", None)

    def typed(self):
        """Return both figures as they were typed."""
        found = [self._typed(measure) for measure in MEASURES if self.shown(measure) is not None]
        return "; ".join(found)

    def _typed(self, measure):
        measured = self.cleaned_data.get(measure)
        return measured.typed.strip() if measured else typed_of(self.kept, measure)

    def says_another_round(self):
        """Whether something of it beside its parts differs from the round told again."""
        said = self.cleaned_data
        figures = [(self.shown(one), self.kept_shown(one)) for one in MEASURES]
        is_read = any(shown not in (None, kept) for shown, kept in figures)
        is_noted = said["note"].strip() != self.retold.note
        return is_read or is_noted or said["done_at"] not in (None, self.retold.done_at)

    def has_rolled(self, measure):
        return measure in self.doubts and self.cleaned_data[f"{measure}_why"] == ROLLED

    def doubted(self):
        """Return what was said of a doubted figure, the gravest first."""
        whys = {self.cleaned_data[f"{measure}_why"] for measure in self.doubts}
        kept = {CHANGED: "meter changed", RIGHT: "questioned"}
        return next((words for why, words in kept.items() if why in whys), "")

    def meter_fields(self):
        """Yield each meter's field with its last figure and the question it asks, if any."""
        for measure in MEASURES:
            meter = self.meters[measure]
            yield {
                "field": self[measure],
                "last": meter.last_shown(self.at),
                "last_at": meter.last(self.at) and meter.last(self.at).at,
                "unit": printed(meter.unit),
                "kept": self.kept_shown(measure),
                "why": self[f"{measure}_why"] if measure in self.doubts else None,
                "question": self.questions.get(measure),
            }

    def _moment(self, local):
        if local is None:
            return None
        zone = self.visit.site.zone
        which = self.cleaned_data.get("done_which")
        self.asks_which = comes_twice(local, zone)
        if self.asks_which:
            self._offer_which(local, zone)
        if self.asks_which and not which:
            self.add_error("done_which", _("The clocks showed this time twice. Which was it?"))
            return None
        try:
            done_at = moment_of_local(local, zone, is_second=which == SECOND)
        except ValueError:
            self.add_error("done_at", _("The clocks went forward then: there was no such time."))
            return None
        return self._within(done_at)

    def _offer_which(self, local, zone):
        first, second = (local.replace(tzinfo=ZoneInfo(zone), fold=fold) for fold in (0, 1))
        self.fields["done_which"].choices = [
            (FIRST, _("the first, %s") % offset_of(first)),
            (SECOND, _("the second, %s") % offset_of(second)),
        ]

    def _within(self, done_at):
        if done_at > self.at + timedelta(minutes=1):
            self.add_error("done_at", _("That is still to come."))
        elif self.earliest and done_at < self.earliest:
            said = _("That is before the cart came, or before its lift was fitted.")
            self.add_error("done_at", said)
        else:
            return min(done_at, self.at)
        return None

    def _judge(self, measure, at, run=None):
        """Ask why a figure looks wrong, unless an answer that fits it was given."""
        value = self.shown(measure)
        meter = self.meters[measure]
        doubt = None if value is None else meter.doubt(value, at, run)
        if doubt is None:
            return
        self.doubts[measure] = doubt
        reasons = _reasons(doubt, meter, value, at)
        field = self.fields[f"{measure}_why"]
        self.questions[measure] = question(meter, doubt, value, at)
        field.choices = [(why, WHY[why]) for why in reasons]
        why = self.cleaned_data.get(f"{measure}_why")
        if why not in reasons:
            self.add_error(f"{measure}_why", _("Press what it is."))
        elif why == SLIP:
            self.add_error(measure, _("Type the figure that the meter shows."))
        elif why == EARLIER:
            self.add_error(f"{measure}_why", TAKE_BACK_FIRST)
        elif why == OTHER_CART:
            said = _("Nothing was saved at cart %s. Open the right one; this page stays as it is.")
            self.add_error(f"{measure}_why", said % self.visit.cart)


def _reasons(doubt, meter, value, at):
    last = meter.last_shown(at)
    has_fallen = last is not None and value < last
    return [why for why in REASONS[doubt] if why != ROLLED or has_fallen]
