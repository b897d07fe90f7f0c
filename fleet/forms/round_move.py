"""Moving a round to the cart it was done at, and what becomes of its meter reading there."""

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
    meters_of,
    question,
)
from fleet.forms.round_acts import REASON, NumberForm
from fleet.models import Reading
from fleet.standing import running_of

TAKE, LEAVE = "take", "leave"
MEASURES = (HOURS, DISTANCE)
# the figure is not typed here, and the cart is named above
NOT_ASKED = (SLIP, EARLIER, OTHER_CART)


class MoveForm(NumberForm):
    """The cart at which a round was really done, and how that is known.

    Its reading is judged at that cart. Where it is doubted, nothing is moved until a reason
    is pressed or the reading is left behind.
    """

    # the browser must not ask for what "leave it behind" leaves out
    use_required_attribute = False

    reading = forms.ChoiceField(
        required=False,
        choices=[
            (TAKE, gettext_lazy("Take it along")),
            (LEAVE, gettext_lazy("Leave it behind: it is taken back with the reason above")),
        ],
        widget=forms.RadioSelect,
        label=gettext_lazy("Its meter reading"),
    )
    hours_why = forms.ChoiceField(required=False, choices=[*WHY.items()], widget=forms.RadioSelect)
    distance_why = forms.ChoiceField(
        required=False, choices=[*WHY.items()], widget=forms.RadioSelect
    )
    reason = forms.CharField(**REASON)

    field_order = ["number", "reason", "reading", "hours_why", "distance_why"]

    def __init__(self, *args, row, **kwargs):
        super().__init__(*args, **kwargs)
        self.row, self.doubts = row, {}
        self.read = Reading.objects.filter(round_id=row.pk).first()
        self.fields["number"].label = _("Number of the cart it was done at")
        if self.read is None:
            del self.fields["reading"]
        else:
            self.meters = _meters(row.cart)
            said = {"here": self._said(self.meters, self._figures())}
            help_text = _("%(here)s. Unless you say so, it goes along where it fits.") % said
            self.fields["reading"].help_text = help_text
        if not self.is_bound:
            self._ask_only(())

    def clean_number(self):
        number = super().clean_number()
        if self.cart.pk == self.row.cart_id:
            raise forms.ValidationError(_("The round is on that cart already."))
        return number

    def clean(self):
        said = super().clean()
        is_judged = self.read and self.cart and self.cart.pk != self.row.cart_id
        if is_judged and not self.leaves_reading:
            self._judge(_meters(self.cart))
        self._ask_only(self.doubts)
        return said

    @property
    def leaves_reading(self):
        return self.cleaned_data.get("reading") == LEAVE

    def answers(self):
        """Return what the reading says of itself at the other cart, besides its figures."""
        whys = {measure: self.cleaned_data[f"{measure}_why"] for measure in self.doubts}
        kept = {CHANGED: "meter changed", RIGHT: "questioned"}
        return {
            "hours_rolled": whys.get(HOURS) == ROLLED,
            "distance_rolled": whys.get(DISTANCE) == ROLLED,
            "doubted": next((words for why, words in kept.items() if why in whys.values()), ""),
        }

    def _figures(self):
        figures = {measure: getattr(self.read, f"{measure}_shown") for measure in MEASURES}
        return {measure: figure for measure, figure in figures.items() if figure is not None}

    def _judge(self, meters):
        figures, at = self._figures(), self.row.done_at
        lasts = {one: meters[one].last_shown(at) for one in figures}
        there = self._said(meters, {one: last for one, last in lasts.items() if last is not None})
        if there:
            said = {"here": self._said(self.meters, figures), "cart": self.cart, "there": there}
            # a bound field keeps the words it was made with
            self["reading"].help_text = (
                _("%(here)s. Cart %(cart)s was last read before at %(there)s.") % said
            )
        run = None
        for measure, figure in figures.items():
            if meters[measure].unit != self.meters[measure].unit:
                self.add_error("reading", _("That cart’s meter has another unit. Leave it behind."))
                continue
            doubt = meters[measure].doubt(figure, at, run)
            if doubt:
                self._ask(meters[measure], doubt, figure)
            elif measure == HOURS:
                run = hours_run(meters, figure, at)

    def _ask(self, meter, doubt, figure):
        """Ask why a figure looks wrong there, unless an answer that fits it was given."""
        at, name = self.row.done_at, f"{meter.measure}_why"
        last = meter.last_shown(at)
        has_fallen = last is not None and figure < last
        reasons = [why for why in REASONS[doubt] if why not in NOT_ASKED]
        reasons = [why for why in reasons if why != ROLLED or has_fallen]
        self.doubts[meter.measure] = doubt
        self[name].label = question(meter, doubt, figure, at)
        self.fields[name].choices = [(why, WHY[why]) for why in reasons]
        self.fields[name].required = True
        if self.cleaned_data.get(name) not in reasons:
            self.add_error(name, _("Press what it is, or leave the reading behind."))

    def _ask_only(self, measures):
        for measure in MEASURES:
            if measure not in measures:
                self.fields.pop(f"{measure}_why", None)

    @staticmethod
    def _said(meters, figures):
        return ", ".join(f"{figure:,.1f} {meters[one].unit}" for one, figure in figures.items())


def _meters(cart):
    return meters_of(running_of([cart.pk])[cart.pk], cart.site)
