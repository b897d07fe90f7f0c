from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Hold, Outcome
from lifts import pieces
from lifts.fields import PressedField
from lifts.models import GreasePart, GreaseStroke
from lifts.parts.base import LiftPart, PartForm, numbered, told
from lifts.visit_kit import grease_points_at

MOST_STROKES = 60
USUAL_STROKES = 3  # common practice, no source


class GreaseForm(PartForm):
    """A card for each grease point; rubber is named and not asked."""

    cautions = (
        _("Eye protection on: grease under pressure. Keep hands clear of pinch points."),
        _("Do not mix thickeners: another lubricant means a full purge. Rubber is never greased."),
    )

    all_greased = forms.BooleanField(required=False, label=_("All greased"))
    lubricant = forms.CharField(required=False, max_length=80, label=_("Lubricant"))

    def build(self):
        points = grease_points_at(self.visit)
        self.points = [point for point in points if not point.is_rubber]
        self.rubber = [point for point in points if point.is_rubber]
        for point in self.points:
            self.fields.update(_fields_of(point))

    def of(self, point, name):
        return self.cleaned_data.get(f"{name}-{point.pk}")

    def clean(self):
        if self.cleaned_data.get("all_greased"):
            self._grease_unanswered()
        for point in self.points:
            if not self.of(point, "found"):
                message = gettext("%(point)s: say what was done") % {"point": point.name}
                self.add_error(f"found-{point.pk}", message)
        return super().clean()

    def _grease_unanswered(self):
        """Take the points left unpressed as greased, by the usual strokes where none are said."""
        for point in self.points:
            if self.of(point, "found"):
                continue
            self.cleaned_data[f"found-{point.pk}"] = GreaseStroke.Found.GREASED.value
            if self.of(point, "strokes") is None and not self.of(point, "clean"):
                self.cleaned_data[f"strokes-{point.pk}"] = USUAL_STROKES

    @property
    def is_left_out(self):
        return super().is_left_out or not self.points

    def on_paper(self):
        """Yield each point's line on a printed sheet: name, boxes, what is known of it."""
        for point in self.points:
            yield point.name, GreaseStroke.Found.labels, f"{point.count} ×"

    def cards(self):
        for point in self.points:
            names = ("found", "strokes", "clean", "torn")
            yield {"point": point, **{name: self[f"{name}-{point.pk}"] for name in names}}


def _fields_of(point):
    about = {
        "found": PressedField(required=False, choices=GreaseStroke.Found.choices, label=point.name),
        "strokes": forms.IntegerField(
            required=False, min_value=0, max_value=MOST_STROKES, label=_("Strokes")
        ),
        "clean": forms.BooleanField(required=False, label=_("Clean grease seen")),
        "torn": forms.BooleanField(required=False, label=_("Boot torn")),
    }
    return {f"{name}-{point.pk}": field for name, field in about.items()}


class Grease(LiftPart):
    code = "grease"
    title = _("Grease")
    place = 20
    model = GreasePart
    line_model = GreaseStroke
    form_class = GreaseForm
    template = "lifts/part_grease.html"
    cautions = GreaseForm.cautions
    pieces = frozenset({pieces.GREASE})
    grades = {
        GreaseStroke.Found.GREASED.value: 0,
        GreaseStroke.Found.NOT_REACHED.value: 1,
        GreaseStroke.Found.BLOCKED.value: 2,
    }

    def read(self, form):
        lines = [
            GreaseStroke(
                point=point,
                name=point.name,
                found=form.of(point, "found"),
                strokes=form.of(point, "strokes"),
                clean_seen=bool(form.of(point, "clean")),
                boot_torn=bool(form.of(point, "torn")),
            )
            for point in form.points
        ]
        return {"lubricant": form.cleaned_data["lubricant"]}, numbered(lines)

    def outcome(self, fact, lines):
        holds = tuple(Hold(pieces.GREASE, reason) for reason in _reasons(lines))
        greased = any(line.found == GreaseStroke.Found.GREASED for line in lines)
        return Outcome(pieces=self.pieces if greased and not holds else frozenset(), holds=holds)

    def verdicts(self, fact, lines):
        return {line.name: line.found for line in lines}

    def said(self, fact, lines):
        for line in lines:
            detail = told(
                strokes=line.strokes, clean_seen=line.clean_seen, boot_torn=line.boot_torn
            )
            yield (line.name, line.found, detail)


def _reasons(lines):
    for line in lines:
        if line.found == GreaseStroke.Found.BLOCKED:
            yield gettext("%(point)s: grease fitting blocked or missing") % {"point": line.name}
        elif line.found == GreaseStroke.Found.NOT_REACHED:
            yield gettext("%(point)s: not greased") % {"point": line.name}
