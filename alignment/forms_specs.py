"""The form of what a kit's camber and toe are held to, and how its carts are adjusted."""

from django import forms
from django.utils.text import format_lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from alignment.fields import MeasureField, as_read, si
from alignment.models import AlignmentSpec, CamberAdjusts
from alignment.pitches import read_pitch
from shared.models import new_id
from shared.units import UNITS_OF, Unreadable

MOST_CAMBER_DEG = 5
MOST_TOE_MM = 40
MOST_ARM_MM = 500
NOT_SAID = ("", _("not said"))
PITCH_HINT = _("As the thread is named: 1.25 mm, or 20 an inch")
LIMITS = ("camber_low", "camber_high", "side_to_side", "toe_low", "toe_high")
RODS = ("rods", "rod_ends", "rod_right_hand", "rod_pitch", "arm_length", "arm", "rod_height")
SLEEVE = ("camber_adjusts", "sleeve_ends", "sleeve_right_hand", "sleeve_pitch", "knuckle")
MAY_BE_LEFT_OUT = ("rod_right_hand", "rod_height", "sleeve_right_hand")
# name of the field, and of the two columns that keep it
LENGTHS = (
    ("toe_low", "toe_low_mm", "toe_low_typed"),
    ("toe_high", "toe_high_mm", "toe_high_typed"),
    ("rod_pitch", "rod_pitch_mm", "rod_pitch_typed"),
    ("arm_length", "arm_mm", "arm_typed"),
    ("rod_height", "rod_height_mm", "rod_height_typed"),
    ("sleeve_pitch", "sleeve_pitch_mm", "sleeve_pitch_typed"),
    ("knuckle", "knuckle_mm", "knuckle_typed"),
)
DEGREES = (
    ("camber_low", "camber_low_deg"),
    ("camber_high", "camber_high_deg"),
    ("side_to_side", "side_to_side_deg"),
)
CHOSEN = ("rods", "rod_ends", "arm", "camber_adjusts", "sleeve_ends")
RIGHT_HAND = ("rod_right_hand", "sleeve_right_hand")
RIGHT_HAND_HINT = _(
    "It decides which way to turn. Not said, a thread at one end is taken as right-hand at the "
    "wheel; of two threads no way is then told, nor drawn."
)
ACROSS_HINT = _("One rod across is looked at from its right-hand-thread end: leave it at not said.")
BOTH = _("The two go together.")
CROSSED = _("The upper one must lie above the lower one.")
TOE_OUT = _("Toe-out is never inside: 0 or more.")
WHOLE_ROD = _("Of tie rods tell all but the height and the right-hand thread, or nothing.")
WHOLE_SLEEVE = _("Thread, pitch and height of the sleeve go together.")
NO_SLEEVE = _("This is of a sleeve: say that camber is adjusted by one.")


class PitchField(forms.CharField):
    """Cleans to a Measure in mm, or None when empty."""

    def __init__(self, **kwargs):
        super().__init__(required=False, max_length=40, help_text=PITCH_HINT, **kwargs)
        self.widget.attrs["autocomplete"] = "off"

    def clean(self, value):
        text = super().clean(value)
        try:
            return read_pitch(text) if text else None
        except Unreadable as error:
            raise forms.ValidationError(gettext(error.plain) % error.holes) from error


class SpecForm(forms.Form):
    """What is told, whole; ``act`` makes a second press the same act."""

    act = forms.UUIDField(widget=forms.HiddenInput)
    source = forms.CharField(max_length=200, label=_("Source"))
    note = forms.CharField(
        required=False,
        max_length=600,
        widget=forms.Textarea(attrs={"rows": 3}),
        label=_("Note"),
    )

    def __init__(self, site, kit_code, told=None, data=None):
        super().__init__(data, initial={"act": new_id(), **first_values(told)})
        self.site, self.kit_code = site, kit_code
        self.fields |= self._limits() | self._rods() | self._sleeve()
        self.fields["source"].help_text = (
            _("The maker’s sheet with its edition, or the page of its book")
            if kit_code
            else _("Whose rule it is: an insurer’s, the shop’s own")
        )
        if told:
            self.fields["note"].required = True
            self.fields["note"].label = _("Why it changes")

    def _limits(self):
        inside = {"lowest": 0, "highest": MOST_TOE_MM}
        lean = {"lowest": -MOST_CAMBER_DEG, "highest": MOST_CAMBER_DEG}
        apart = {"lowest": 0, "highest": MOST_CAMBER_DEG}
        return {
            "camber_low": MeasureField("angle", "deg", label=_("Camber from"), **lean),
            "camber_high": MeasureField("angle", "deg", label=_("Camber to"), **lean),
            "side_to_side": MeasureField(
                "angle", "deg", label=_("Left and right differ by at most"), **apart
            ),
            "toe_low": self._length(_("Toe-in from"), lowest=-MOST_TOE_MM, highest=MOST_TOE_MM),
            "toe_high": self._length(_("Toe-in to"), **inside),
        }

    def _rods(self):
        spec = AlignmentSpec
        return {
            "rods": _choice(_("Tie rods"), spec.Rods),
            "rod_ends": _choice(_("Thread of a tie rod"), spec.Ends),
            "rod_right_hand": _choice(
                _("Right-hand thread of a tie rod"),
                spec.ThreadAt,
                help_text=format_lazy("{} {}", RIGHT_HAND_HINT, ACROSS_HINT),
            ),
            "rod_pitch": PitchField(label=_("Pitch of that thread")),
            "arm_length": self._length(
                _("Steering arm, from the king pin to the tie rod"), lowest=20, highest=MOST_ARM_MM
            ),
            "arm": _choice(_("The steering arm points"), spec.Arm),
            "rod_height": self._length(
                _("Tie rod’s end above the lower joint"), lowest=-MOST_ARM_MM, highest=MOST_ARM_MM
            ),
        }

    def _sleeve(self):
        return {
            "camber_adjusts": _choice(_("Camber is adjusted"), CamberAdjusts),
            "sleeve_ends": _choice(_("Thread of the sleeve"), AlignmentSpec.Ends),
            "sleeve_right_hand": _choice(
                _("Right-hand thread of the sleeve"),
                AlignmentSpec.ThreadAt,
                help_text=RIGHT_HAND_HINT,
            ),
            "sleeve_pitch": PitchField(label=_("Pitch of the sleeve’s thread")),
            "knuckle": self._length(
                _("Knuckle: from the lower joint up to the upper arm"),
                lowest=20,
                highest=MOST_ARM_MM,
            ),
        }

    def _length(self, label, **bounds):
        return MeasureField("length", UNITS_OF[self.site.units]["length"], label=label, **bounds)

    def groups(self):
        """Return (heading, fields) of each part of the page."""
        return [
            (_("Limits"), [self[name] for name in LIMITS]),
            (_("Tie rods"), [self[name] for name in RODS]),
            (_("Camber sleeve"), [self[name] for name in SLEEVE]),
        ]

    def clean(self):
        said = super().clean()
        self._pair("camber_low", "camber_high")
        self._pair("toe_low", "toe_high")
        if _is_below_nought(said.get("toe_low")):
            self.add_error("toe_low", TOE_OUT)
        self._whole(RODS, WHOLE_ROD, when=RODS)
        self._whole(SLEEVE[1:], WHOLE_SLEEVE, when=SLEEVE[1:])
        of_sleeve = any(said.get(name) for name in SLEEVE[1:])
        if of_sleeve and said.get("camber_adjusts") != CamberAdjusts.SLEEVE:
            self.add_error("camber_adjusts", NO_SLEEVE)
        return said

    def _pair(self, low, high):
        ends = [self.cleaned_data.get(name) for name in (low, high)]
        if {low, high} & set(self.errors):
            return
        if None in ends and ends != [None, None]:
            self.add_error(low if ends[0] is None else high, BOTH)
        elif None not in ends and ends[0].si >= ends[1].si:
            self.add_error(high, CROSSED)

    def _whole(self, names, message, *, when):
        """Put an error on each field left empty when another that goes with it is not."""
        if any(self.cleaned_data.get(name) for name in when):
            for name in (one for one in names if one not in MAY_BE_LEFT_OUT):
                if not self.cleaned_data.get(name) and name not in self.errors:
                    self.add_error(name, message)

    def values(self):
        """Return the columns of an AlignmentSpec as told."""
        said = self.cleaned_data
        values = {name: said[name] for name in (*CHOSEN, "source", "note")}
        values |= {name: said[name] or None for name in RIGHT_HAND}
        for name, mm, typed in LENGTHS:
            values |= {mm: si(said[name]), typed: as_read(said[name])}
        for name, deg in DEGREES:
            values[deg] = said[name] and round(said[name].si, 4)
        return values

    def who(self, viewer):
        return {"by": viewer.person, "at": viewer.at, "id": self.cleaned_data["act"]}


def first_values(told):
    """Return what a form begins with: what was told last, as it was typed."""
    if told is None:
        return {}
    values = {name: getattr(told, name) for name in (*CHOSEN, *RIGHT_HAND, "source")}
    values |= {name: getattr(told, typed) for name, _mm, typed in LENGTHS}
    return values | {name: _plain(getattr(told, deg)) for name, deg in DEGREES}


def _plain(deg):
    return "" if deg is None else f"{deg.normalize():f}"


def _choice(label, choices, **kwargs):
    return forms.ChoiceField(
        required=False,
        choices=[NOT_SAID, *choices.choices],
        widget=forms.RadioSelect,
        label=label,
        **kwargs,
    )


def _is_below_nought(measure):
    return measure is not None and measure.si < 0
