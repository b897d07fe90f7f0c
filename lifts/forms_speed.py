"""The forms of a site's speed classes and of the class claimed for a cart."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts.classes import NONE_CLAIMED, RESERVED, USUAL, limit_said
from lifts.fields import CodeField
from lifts.speed_classes import FIGURES_END, SpeedClass, limits_of
from shared.models import new_id

FEW_LINES = {"rows": 3}
BOTH_UNITS = _("As the source prints it: one unit, or both")
TEXTS = ("name", "source", "edition", "note")
COUNTS = ("most_persons", "wheels")
FLAGS = ("limit_is_below", "gross_is_below", "wheels_or_more")
FIGURES = (
    ("limit_mph", _("Limit, mph")),
    ("limit_kmh", _("Limit, km/h")),
    ("over_mph", _("Faster than, mph")),
    ("over_kmh", _("Faster than, km/h")),
    ("most_gross_lb", _("Gross mass at most, lb")),
    ("most_gross_kg", _("Gross mass at most, kg")),
    ("most_payload_lb", _("Payload at most, lb")),
    ("most_payload_kg", _("Payload at most, kg")),
)


class FigureField(forms.DecimalField):
    """A bound of a class; empty where the source names none."""

    def __init__(self, **kwargs):
        super().__init__(required=False, max_value=FIGURES_END - 1, **kwargs)
        self.widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def clean(self, value):
        figure = super().clean(value)
        if figure is not None and figure <= 0:
            raise ValidationError(_("Above zero, or empty if the source names none."))
        return figure


class ReasonForm(forms.Form):
    """An act with its reason; ``act`` makes a second press the same act."""

    act = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(max_length=300, label=_("Why"))

    def __init__(self, data=None, *, initial=None):
        super().__init__(data, initial={"act": new_id(), **(initial or {})})

    def who(self):
        return {"id": self.cleaned_data["act"], "reason": self.cleaned_data["reason"]}


class ClassForm(ReasonForm):
    """One class of the table, as its source prints it."""

    code = CodeField(max_length=40, label=_("Code"), help_text=_("Short, without spaces"))
    name = forms.CharField(max_length=120, label=_("Name"))
    source = forms.CharField(
        max_length=120, label=_("Source"), help_text=_("The law, standard or rule that says it")
    )
    edition = forms.CharField(max_length=120, label=_("Edition"))
    limit_is_below = forms.BooleanField(
        required=False, label=_("The limit itself is too fast: “below”, not “at most”")
    )
    gross_is_below = forms.BooleanField(
        required=False, label=_("The gross mass itself is too much: “less than”")
    )
    most_persons = forms.IntegerField(
        required=False, min_value=1, max_value=99, label=_("Persons at most")
    )
    wheels = forms.IntegerField(required=False, min_value=1, max_value=99, label=_("Wheels"))
    wheels_or_more = forms.BooleanField(required=False, label=_("That many wheels or more"))
    note = forms.CharField(
        required=False,
        max_length=600,
        widget=forms.Textarea(attrs=FEW_LINES),
        label=_("How the figures were come by"),
    )

    field_order = ["act", "code", "name", "source", "edition", "limit_mph", "limit_kmh"]
    field_order += ["limit_is_below", "over_mph", "over_kmh", "most_gross_lb", "most_gross_kg"]
    field_order += ["gross_is_below", "most_payload_lb", "most_payload_kg", *COUNTS]
    field_order += ["wheels_or_more", "note", "is_dropped", "reason"]

    def __init__(self, data=None, *, speed_class=None):
        self.speed_class = speed_class
        super().__init__(data, initial=_first_values(speed_class))
        for name, label in FIGURES:
            self.fields[name] = FigureField(label=label)
        self.fields["limit_mph"].help_text = BOTH_UNITS
        if speed_class is not None:
            del self.fields["code"]
            self.fields["is_dropped"] = forms.BooleanField(
                required=False, label=_("Take this class out of the table")
            )
        self.order_fields(self.field_order)

    def clean_code(self):
        code = self.cleaned_data["code"].lower()
        if code in RESERVED:
            raise ValidationError(_("This word means something else; choose another code."))
        return code

    def clean(self):
        said = super().clean()
        if not self.errors:
            try:
                self.made = self._made(said)
            except ValueError as error:
                raise ValidationError(str(error)) from error
        return said

    def _made(self, said):
        """Return the class as typed; raises ValueError for one that cannot be meant."""
        values = {name: said[name] for name in (*TEXTS, *COUNTS, *FLAGS)}
        values |= {name: said[name] for name, _label in FIGURES}
        return SpeedClass(
            code=self.speed_class.code if self.speed_class else said["code"], **values
        )


def _first_values(speed_class):
    if speed_class is None:
        return {}
    values = {field: getattr(speed_class, field) for field in (*TEXTS, *COUNTS, *FLAGS)}
    figures = {name: getattr(speed_class, name) for name, _label in FIGURES}
    return values | {name: _plain(figure) for name, figure in figures.items()}


def _plain(figure: Decimal | None):
    return None if figure is None else f"{figure:f}"


class UsualForm(ReasonForm):
    """Which class carts have where none is claimed for them, and what being over it does."""

    usual = forms.ChoiceField(required=False, label=_("Usual class of this site’s carts"))
    tags_over = forms.BooleanField(
        required=False, label=_("Tag a cart that is measured over its class")
    )
    field_order = ["act", "usual", "tags_over", "reason"]

    def __init__(self, data=None, *, table):
        super().__init__(data, initial={"usual": table.usual, "tags_over": table.tags_over})
        none = ("", gettext("none: each cart by its own claim"))
        self.fields["usual"].choices = [none, *_choices(table)]


class ClaimForm(ReasonForm):
    """The class that one cart is held to from now on."""

    speed_class = forms.ChoiceField(label=_("Speed class"), widget=forms.RadioSelect)
    field_order = ["act", "speed_class", "reason"]

    def __init__(self, data=None, *, table, claim):
        super().__init__(data, initial={"speed_class": claim or USUAL})
        usual = table.named(table.usual)
        said = usual.name if usual else gettext("none")
        self.fields["speed_class"].choices = [
            (USUAL, gettext("as usual at the site: %(class)s") % {"class": said}),
            *_choices(table),
            (NONE_CLAIMED, gettext("no class claimed")),
        ]


def _choices(table):
    return [(one.code, f"{one.name}: {limit_said(limits_of(one))}") for one in table.classes]
