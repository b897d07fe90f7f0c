"""The camber and toe sheet as typed at the cart: camber first, then toe, then what was turned."""

from decimal import Decimal

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment.checks import FLOOR, check
from alignment.fields import MeasureField, as_read, si
from alignment.models import CamberToeSheet, Side, Stage
from alignment.reading_fields import reading_fields, tape, wheels
from alignment.reading_lines import lines_of
from alignment.readings import Limits
from shared.units import UNITS_OF, read_quantity, shown

MARKS = ("1/16 in", "1/32 in", "1/64 in", "1 mm", "0.5 mm")
USUAL_MARK = {"inch": "1/16 in", "metric": "1 mm"}
GAUGE_MARKS_DEG = ("0.05", "0.1", "0.25", "0.5", "1")
USUAL_GAUGE_MARK_DEG = "0.1"
DIAMETER_MM = (150, 1500)
BETWEEN_MM = (50, 1000)
FLOOR_FALL_MM = (0, 200)
FLOOR_OVER_MM = (100, 5000)

READY = [(name, CamberToeSheet._meta.get_field(name).verbose_name) for name in CamberToeSheet.READY]
WHOLE_INCH = _("I read it twice; a whole inch or a sign did not creep in")


def _ticks(label, choices):
    return forms.MultipleChoiceField(
        label=label, choices=choices, widget=forms.CheckboxSelectMultiple, required=False
    )


def _tick(label):
    return forms.BooleanField(label=label, required=False)


class CamberToeForm(forms.Form):
    """A sheet; ``visit`` has cart, site, kit, pieces, stage, viewer, at.

    With ``not_done`` ticked nothing else of it counts. ``camber_turned`` are sides.
    The reading fields are those of reading_fields.
    """

    not_done = _tick(_("Not done this visit"))
    ready = _ticks(_("Before measuring"), READY)
    mark = forms.ChoiceField(label=_("Smallest mark of the tape"), choices=[(m, m) for m in MARKS])
    gauge_mark = forms.ChoiceField(
        label=_("Smallest step of the gauge, degrees"),
        choices=[(mark, mark) for mark in GAUGE_MARKS_DEG],
        initial=USUAL_GAUGE_MARK_DEG,
        required=False,
    )
    floor_low_side = forms.ChoiceField(
        label=_("Floor is low on the"),
        choices=[("", _("level")), *Side.choices],
        required=False,
        help_text=_(
            "Only where the wheels stand level on plates and the square on a sloping floor; "
            "on one plane floor the square leans with the cart."
        ),
    )
    camber_turned = _ticks(_("Camber turned"), Side.choices)
    toe_after_turn = _tick(_("The toe as left was read after the last camber turn"))
    tie_rod_turned = _tick(_("Tie rod turned"))
    driven = _tick(_("Test drive done"))
    pull = forms.ChoiceField(
        label=_("Hands off, the cart"),
        choices=[("", _("not tried")), *CamberToeSheet.Pull.choices],
        required=False,
    )
    confirmed = _tick(WHOLE_INCH)
    note = forms.CharField(label=_("Note"), required=False, widget=forms.Textarea({"rows": 2}))

    def __init__(self, visit, data=None, files=None, **kwargs):
        super().__init__(data, files, **kwargs)
        self.visit = visit
        self.needs_confirmation = False
        system = str(visit.site.units)
        unit = UNITS_OF[system]["length"]
        self.fields |= _lengths(unit) | reading_fields(unit)
        self.fields["mark"].initial = USUAL_MARK[system]
        if visit.cart.tyre_mm is not None:
            self.fields["diameter"].initial = shown(visit.cart.tyre_mm, "length", system)

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("not_done"):
            self._errors.clear()
        else:
            check(self)
        return cleaned

    @property
    def is_left_out(self):
        """Whether a valid form amounts to no sheet: put off, or nothing was read."""
        return self.cleaned_data["not_done"] or not self.lines()

    def lines(self):
        """Return the unsaved readings of a valid form, in the order of the work."""
        return lines_of(self.cleaned_data)

    def sheet_fields(self):
        """Return the fields of the CamberToeSheet that a valid form amounts to."""
        cleaned = self.cleaned_data
        return {
            **_typed_pairs(cleaned),
            **{name: name in cleaned["ready"] for name in CamberToeSheet.READY},
            **{f"camber_turned_{side}": side in cleaned["camber_turned"] for side in Side.values},
            **{name: cleaned[name] for name in ("tie_rod_turned", "driven", "pull", "note")},
            **_limits(),
            "floor_low_side": cleaned["floor_low_side"],
            "gauge_mark_deg": Decimal(cleaned["gauge_mark"] or USUAL_GAUGE_MARK_DEG),
            "confirmed": self.needs_confirmation and cleaned["confirmed"],
        }

    def on_paper(self):
        """Yield the sheet's questions for a printed round: label, boxes, what helps."""
        yield self.fields["ready"].label, [label for _name, label in READY], ""
        yield self.fields["mark"].label, MARKS, ""
        yield self.fields["between"].label, [], ""
        yield self.fields["diameter"].label, [], ""
        for stage in Stage.labels:
            for side in Side.labels:
                gaps = {"side": side, "stage": stage}
                yield gettext("Camber %(side)s, %(stage)s: gap at top, at bottom") % gaps, [], ""
            yield gettext("Toe, %(stage)s: front and rear, three times") % {"stage": stage}, [], ""
        yield self.fields["camber_turned"].label, Side.labels, ""
        for name in ("toe_after_turn", "tie_rod_turned", "driven"):
            yield self.fields[name].label, [""], ""
        yield self.fields["pull"].label, CamberToeSheet.Pull.labels, ""

    def found_wheels(self):
        return wheels(self, Stage.FOUND)

    def left_wheels(self):
        return wheels(self, Stage.LEFT)

    def found_tape(self):
        return tape(self, Stage.FOUND)

    def left_tape(self):
        return tape(self, Stage.LEFT)

    def is_floor_open(self):
        return _shows(self[name] for name in FLOOR)

    def is_left_open(self):
        """Whether anything read or asked for stands among the readings as left."""
        names = [name for name in self.fields if name.startswith("left_")]
        return _shows(self[name] for name in [*names, "toe_after_turn"])


def _shows(fields):
    return any(field.data or field.errors for field in fields)


def _lengths(unit):
    return {
        "diameter": _length(_("Tyre diameter, where toe is read"), unit, DIAMETER_MM),
        "between": _length(_("Height between the two gap points, on the rim"), unit, BETWEEN_MM),
        "floor_fall": _length(_("Floor falls by"), unit, FLOOR_FALL_MM),
        "floor_over": _length(_("over a width of"), unit, FLOOR_OVER_MM),
    }


def _length(label, unit, between_mm):
    lowest, highest = between_mm
    return MeasureField("length", unit, lowest=lowest, highest=highest, label=label)


def _typed_pairs(cleaned):
    mark = read_quantity(cleaned["mark"], "length", "mm")
    names = ("diameter", "floor_fall", "floor_over")
    measures = {"mark": mark, **{name: cleaned[name] for name in names}}
    return {
        **{f"{name}_mm": si(measure) for name, measure in measures.items()},
        **{f"{name}_typed": as_read(measure) for name, measure in measures.items()},
    }


def _limits():
    limits = Limits()
    return {
        "camber_low_deg": Decimal(str(limits.camber_low_deg)),
        "camber_high_deg": Decimal(str(limits.camber_high_deg)),
        "side_to_side_deg": Decimal(str(limits.side_to_side_deg)),
        "toe_low_mm": Decimal(str(limits.toe_low_mm)),
        "toe_high_mm": Decimal(str(limits.toe_high_mm)),
    }
