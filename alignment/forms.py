"""The camber and toe sheet as typed at the cart, pass by pass: camber first, then toe."""

from itertools import product

from django import forms
from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy as _

from alignment.answers import Answer
from alignment.checks import check_fields, check_something_read
from alignment.conditions import (
    CONDITIONS,
    FLOOR,
    PRESSURES,
    WHEEL,
    condition_fields,
    not_said,
    stands,
    tick,
    uneven,
)
from alignment.foretold import foretell
from alignment.known import Known
from alignment.models import CamberAdjusts, CamberToeSheet, Side
from alignment.odd import odd_readings
from alignment.outcomes import outcome_of
from alignment.paper import on_paper
from alignment.pass_views import Read, passes_of
from alignment.reading_fields import CAMBER_READINGS, ROD, SLEEVE, pass_fields, passes_in
from alignment.reading_lines import lines_of
from alignment.refusals import refuse
from alignment.round_pressures import taken_said, told_with_the_tyres
from alignment.sheet_values import JAM_NUTS_TIGHT, fact_so_far, sheet_so_far, sheet_values
from alignment.sheets import sheet_of
from alignment.site_words import Wording
from alignment.tapes import MARKS, USUAL_MARK, tape_of
from shared.models import Photo
from shared.units import read_quantity, shown

GAUGE_MARKS_DEG = ("0.05", "0.1", "0.2", "0.25", "0.5", "1")
USUAL_GAUGE_MARK_DEG = "0.1"
DIAMETER_MM = (150, 1500)
BETWEEN_MM = (50, 1000)
JAM_NUTS = [
    (JAM_NUTS_TIGHT, _("yes")),
    ("not-yet", _("not yet: the cart is tagged")),
]
CAMERA = {"accept": "image/*", "capture": "environment"}


class CamberToeForm(forms.Form):
    """A sheet; ``visit`` has cart, site, kit, pieces, stage, viewer, at.

    With ``not_done`` ticked nothing else of it counts. The fields of each pass are those of
    reading_fields. ``asked`` says that it is shown again to answer, not to be saved: what is
    only wrong with a finished sheet is then no mistake.
    """

    not_done = tick(_("Not done this visit"))
    passes = forms.IntegerField(required=False, widget=forms.HiddenInput, initial=1)
    more_asked = forms.IntegerField(required=False, widget=forms.HiddenInput)
    mark = forms.ChoiceField(label=_("Smallest mark of the tape"), choices=[(m, m) for m in MARKS])
    gauge_mark = forms.ChoiceField(
        label=_("Smallest step of the gauge, degrees"),
        choices=[(mark, mark) for mark in GAUGE_MARKS_DEG],
        initial=USUAL_GAUGE_MARK_DEG,
        required=False,
    )
    jam_nuts = forms.ChoiceField(
        label=_("Jam nuts tight again, and the marks renewed"),
        choices=JAM_NUTS,
        required=False,
        widget=forms.RadioSelect,
    )
    wheel_centred = tick(_("Steering wheel centred with the wheels straight ahead"))
    driven = tick(_("Test drive done"))
    pull = forms.ChoiceField(
        label=_("Hands off, the cart"),
        choices=[("", _("not tried")), *CamberToeSheet.Pull.choices],
        required=False,
    )
    enough = tick(_("Close it as measured, can’t tell: it can’t be read more often or finer"))
    confirmed = tick(_("I read it twice, and it stands"))
    odd_photo = forms.FileField(
        label=_("Photo of the tape or the square, the reading in the picture"),
        required=False,
        widget=forms.FileInput(attrs=CAMERA),
    )
    note = forms.CharField(label=_("Note"), required=False, widget=forms.Textarea({"rows": 2}))

    def __init__(self, visit, data=None, files=None, *, asked="", **kwargs):
        super().__init__(data, files, **kwargs)
        self.visit, self.asked = visit, asked
        self.odd, self.answer, self.asks_for_more = [], None, False
        self.taken_over = {}
        self.pass_numbers = range(1, passes_in(self.data, self.prefix) + 1)
        system = str(visit.site.units)
        self.tape = tape_of(self.data.get(self.add_prefix("mark")), system)
        self.fields |= condition_fields(system, self.tape) | _lengths(self.tape)
        for n in self.pass_numbers:
            self.fields |= pass_fields(n, self.tape)
        self._begin_with_what_is_known(system)

    def _begin_with_what_is_known(self, system):
        self.fields["mark"].initial = USUAL_MARK[system]
        self.fields["p1_step"].initial = "found"
        self.fields["camber_adjusts"].initial = self.known.figures.camber_adjusts
        self.fields["after_kerb_hit"].initial = bool(self.known.kerb_hit)
        if self.visit.cart.tyre_mm is not None:
            self.fields["diameter"].initial = _plainly(self.visit.cart.tyre_mm, system)

    @property
    def pass_count(self):
        return len(self.pass_numbers)

    @property
    def wording(self):
        mark = self.cleaned_data.get("mark") or USUAL_MARK[str(self.visit.site.units)]
        mark_mm = float(read_quantity(mark, "length", "mm").si)
        return Wording(str(self.visit.site.units), mark_mm)

    @cached_property
    def known(self):
        """What is known of the cart beforehand: its figures, its use since the fitting, hits."""
        return Known(self.visit)

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("not_done"):
            self._errors.clear()
            return cleaned
        self.taken_over = told_with_the_tyres(self)
        cleaned.update(self.taken_over)
        check_fields(self)
        check_something_read(self)
        if not self.errors and self.lines():
            self._judge()
        return cleaned

    def _judge(self):
        fact, lines, cleaned = fact_so_far(self), self.lines(), self.cleaned_data
        sheet = sheet_of(fact, lines)
        asked = {name: cleaned[name] for name in ("camber_adjusts", "enough")}
        asked |= {"stands": stands(cleaned), "is_hit": cleaned["after_kerb_hit"]}
        asked["is_odd"] = bool(odd_readings(lines)) and not cleaned["confirmed"]
        holds = outcome_of(fact, lines).holds
        self.answer = Answer(sheet, self.known, lines=lines, holds=holds, **asked)
        refuse(self, sheet, self.answer.judged)

    @property
    def is_left_out(self):
        """Whether a valid form amounts to no sheet: put off, or nothing was read."""
        return self.cleaned_data["not_done"] or not self.lines()

    def lines(self):
        """Return the unsaved lines of a valid form, in the order of the work."""
        return lines_of(self.cleaned_data, self.pass_count)

    def foretold_lines(self):
        """Return the lines as recorded, with what was foretold of each turn."""
        lines = self.lines()
        foretell(lines, sheet_so_far(self), self.known.figures.steering, self.known.learnt)
        return lines

    def sheet_fields(self):
        """Return the fields of the CamberToeSheet that a valid form amounts to."""
        return sheet_values(self)

    def photos(self):
        """Return (what it shows, file) of each photo taken, for whom records photos."""
        file = self.cleaned_data.get("odd_photo")
        return [(Photo.Shows.TAPE, file)] if file and self.odd else []

    def on_paper(self):
        """Yield the sheet's questions for a printed round: label, boxes, what helps."""
        return on_paper(self)

    def remember(self, name, value):
        """Let the page send a value back with what was typed."""
        self.data = self.data.copy()
        self.data[self.add_prefix(name)] = str(value)

    def advised_turns(self, step):
        """Return {at: (flats, way)} as typed, of what is advised to be turned next."""
        return self.answer.advised_turns(step) if self.answer else {}

    def shown_passes(self):
        return passes_of(self, self.answer.said_of_passes() if self.answer else {})

    def pressures(self):
        return [Read(self.fields[name].label, self[name]) for name in PRESSURES]

    def steering_wheel(self):
        return Read(self.fields["wheel_off"].label, self["wheel_off"])

    def photo(self):
        return Read(self.fields["odd_photo"].label, self["odd_photo"])

    def lengths(self):
        return [Read(self.fields[name].label, self[name]) for name in ("between", "diameter")]

    @property
    def advised(self):
        """The button of what is to be done next."""
        return self.answer.button if self.answer else ""

    def uneven(self):
        return list(uneven(self.cleaned_data)) if self.is_bound else []

    def taken_said(self):
        return taken_said(self.taken_over) if self.is_bound else []

    def before_said(self):
        """Return what is still to be said before measuring, for the folded page."""
        missing = not_said(self.cleaned_data) if self.asked and self.is_valid() else []
        return _("not yet: %s") % ", ".join(missing) if missing else ""

    def is_before_open(self):
        """Open until the sheet was asked something, and while it holds a mistake."""
        return not self.asked or any(self[name].errors for name in CONDITIONS)

    @property
    def is_by_gauge(self):
        """Whether a gauge was read, so that its smallest step is asked."""
        read = product(self.pass_numbers, Side.values, CAMBER_READINGS)
        return any(self[f"p{n}_{side}_gauge_{k}"].data for n, side, k in read)

    def slope(self):
        return [Read(self.fields[name].label, self[name]) for name in FLOOR]

    def is_wheel_open(self):
        return any(self[name].data or self[name].errors for name in WHEEL)

    @property
    def is_turned(self):
        return any(self[f"p{n}_step"].value() in (SLEEVE, ROD) for n in self.pass_numbers)

    @property
    def camber_may_turn(self):
        return self["camber_adjusts"].value() != CamberAdjusts.NOT


def _plainly(tyre_mm, system):
    """Return a tyre as a mechanic would write it: "22 in"."""
    figure, unit = shown(tyre_mm, "length", system).rsplit(" ", 1)
    return f"{figure.rstrip('0').rstrip('.') if '.' in figure else figure} {unit}"


def _lengths(tape):
    diameter, between = _("Tyre diameter, where toe is read"), _("Height between the gap points")
    return {
        "diameter": tape.length(diameter, DIAMETER_MM),
        "between": tape.length(between, BETWEEN_MM),
    }
