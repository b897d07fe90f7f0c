"""What is asked at the grease points of a cart."""

from decimal import Decimal

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts import pieces
from lifts.fields import PressedField
from lifts.last_told import last_told
from lifts.lubricant import must_purge
from lifts.models import GreasePart, GreaseStroke, OldGrease, Thickener
from lifts.parts.base import PartForm
from lifts.visit_kit import grease_points_at

MOST_STROKES = 60
USUAL_STROKES = 3  # common practice, no source
MOST_GRAMS = 10
ON, OFF = "on", "off"
WEIGHT = [(ON, _("on the wheels")), (OFF, _("off the wheels"))]
OF_POINT = ("found", "strokes", "clean", "torn", "old", "weight")


class GreaseForm(PartForm):
    """A card for each grease point; rubber is named and not asked.

    What was pumped in last time is remembered. A visit for one point alone asks for it alone.
    """

    cautions = (
        _("Eye protection on: grease under pressure. Keep hands clear of pinch points."),
        _("Do not mix thickeners: another lubricant means a full purge. Rubber is never greased."),
    )

    all_greased = forms.BooleanField(required=False, label=_("All greased"))
    all_clean = forms.BooleanField(required=False, label=_("Clean grease seen at every point"))
    lubricant = forms.CharField(
        required=False,
        max_length=80,
        label=_("Lubricant"),
        help_text=_("Its name, NLGI grade and class, such as “NLGI 2, GC-LB”."),
    )
    thickener = PressedField(required=False, choices=Thickener.choices, label=_("Thickener"))
    grams_a_stroke = forms.DecimalField(
        required=False,
        min_value=Decimal("0.05"),
        max_value=MOST_GRAMS,
        decimal_places=2,
        label=_("What the gun gives a stroke, g"),
    )

    def build(self):
        points = grease_points_at(self.visit)
        self.rubber = [point for point in points if point.is_rubber]
        greased = [point for point in points if not point.is_rubber]
        self.points = self._wanted(greased)
        self.is_whole = len(self.points) == len(greased)
        for point in self.points:
            self.fields.update(_fields_of(point))
        self._remember(last_told(GreasePart, self.visit))

    def _wanted(self, points):
        """Return the points asked for; all of them where none is asked for by itself."""
        asked = self.visit.pieces
        own = [point for point in points if pieces.of_point(point.name) in asked]
        return points if pieces.GREASE in asked or not own else own

    def _remember(self, last):
        self.thickener_before = last and in_the_points(last)
        if last is None:
            return
        self.fields["lubricant"].initial = last.lubricant
        self.fields["thickener"].initial = last.thickener
        grams = last.grams_a_stroke
        self.fields["grams_a_stroke"].initial = grams and f"{grams.normalize():f}"

    def of(self, point, name):
        return self.cleaned_data.get(f"{name}-{point.pk}")

    def weight_on(self, point):
        """Return whether the wheels bore weight: as the kit says, unless said otherwise."""
        said = self.of(point, "weight")
        return said == ON if said else point.weight_on

    def clean(self):
        is_clean = self.cleaned_data.get("all_clean")
        if is_clean or self.cleaned_data.get("all_greased"):
            self._grease_unanswered(is_clean)
        if is_clean:
            self.cleaned_data |= {f"clean-{point.pk}": True for point in self._greased()}
        for point in self.points:
            if not self.of(point, "found"):
                message = gettext("%(point)s: say what was done") % {"point": point.name}
                self.add_error(f"found-{point.pk}", message)
        for point in self._greased():
            if not self.of(point, "strokes") and not self.of(point, "clean"):
                said = gettext("%(point)s: say the strokes, or that clean grease was seen")
                self.add_error(f"strokes-{point.pk}", said % {"point": point.name})
        return super().clean()

    def _greased(self):
        greased = GreaseStroke.Found.GREASED
        return [point for point in self.points if self.of(point, "found") == greased]

    def _grease_unanswered(self, is_clean):
        """Take the points left unpressed as greased, by the usual strokes where none are said."""
        for point in self.points:
            if self.of(point, "found"):
                continue
            self.cleaned_data[f"found-{point.pk}"] = GreaseStroke.Found.GREASED.value
            said = self.of(point, "strokes") is not None or self.of(point, "clean")
            if not said and not is_clean:
                self.cleaned_data[f"strokes-{point.pk}"] = USUAL_STROKES

    @property
    def is_left_out(self):
        return super().is_left_out or not self.points

    def on_paper(self):
        """Yield each point's line on a printed sheet: name, boxes, what is known of it."""
        for point in self.points:
            yield point.name, GreaseStroke.Found.labels, f"{point.count} ×"

    def about_lubricant(self):
        return [self[name] for name in ("lubricant", "thickener", "grams_a_stroke")]

    def cards(self):
        for point in self.points:
            yield {"point": point, **{name: self[f"{name}-{point.pk}"] for name in OF_POINT}}


def in_the_points(last):
    """Return what is in the points: until they were purged, what was there before."""
    if not must_purge(last.thickener_before, last.thickener):
        return last.thickener or last.thickener_before
    is_driven_out = last.is_whole and all(line.clean_seen for line in last.lines.all())
    return last.thickener if is_driven_out else last.thickener_before


def _fields_of(point):
    about = {
        "found": PressedField(required=False, choices=GreaseStroke.Found.choices, label=point.name),
        "strokes": forms.IntegerField(
            required=False, min_value=0, max_value=MOST_STROKES, label=_("Strokes at each fitting")
        ),
        "clean": forms.BooleanField(required=False, label=_("Clean grease seen")),
        "torn": forms.BooleanField(required=False, label=_("Boot torn")),
        "old": PressedField(
            required=False, choices=OldGrease.choices, label=_("How the old grease looked")
        ),
        "weight": PressedField(
            required=False, choices=WEIGHT, label=_("Weight while greasing, if not as the kit says")
        ),
    }
    return {f"{name}-{point.pk}": field for name, field in about.items()}
