"""The forms of the wrench rack."""

from decimal import Decimal

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts.fields import QuantityField, si, typed, unit_at
from lifts.models import Wrench, WrenchEvent
from lifts.point_lines import HEADS, WORST_ERROR, BadPoint, read_points
from lifts.torque import iso6789_tolerance
from shared import papers
from shared.clock import noon_of
from shared.dates import shown_day
from shared.forms import DayInput
from shared.models import new_id
from shared.units import UNITS_OF, as_typed

FOLDER = "certificates"
MOST_NM = 2000
MOST_LENGTH_MM = 2000
POINT_LINES = {"rows": 6, "wrap": "off", "spellcheck": "false"}
POINTS_BEGUN = " | ".join(HEADS) + "\n"
# said of a wrench as text, empty where it is not known
PLAIN = ("name", "type", "drive", "serial")
# the errors of a cheap wrench reach 10 %; beyond that it is a slip of the finger
MOST_TOLERANCE_PERCENT = 20
TOO_FAR_OFF = _(
    "More than 50 % off: look at the units. If it is so, record that the wrench was misused"
)


def torque(site, label, **kwargs):
    return QuantityField(
        "torque", unit=unit_at(site, "torque"), most_si=MOST_NM, label=label, **kwargs
    )


def tolerance(**kwargs):
    return forms.DecimalField(
        min_value=Decimal("0.1"),
        max_value=MOST_TOLERANCE_PERCENT,
        decimal_places=2,
        label=_("Tolerance, ± %"),
        **kwargs,
    )


class RackForm(forms.Form):
    """An act at a rack; ``act`` makes a second press the same act."""

    act = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, data=None, files=None, *, initial=None):
        super().__init__(data, files, initial={"act": new_id(), **(initial or {})})
        self.build()

    def build(self):
        """Add the fields that depend on the site or the wrench."""


class WrenchForm(RackForm):
    """A wrench of the rack; of one that hangs there already, what is now said of it."""

    name = forms.CharField(
        max_length=20, label=_("Name"), help_text=_("As painted or engraved on it, such as TW-1")
    )
    type = forms.ChoiceField(choices=Wrench.Type.choices, label=_("Type"))
    drive = forms.CharField(required=False, max_length=20, label=_("Drive"))
    serial = forms.CharField(required=False, max_length=60, label=_("Serial number"))

    def __init__(self, site, data=None, *, wrench=None):
        self.site, self.wrench = site, wrench
        super().__init__(data, initial=wrench and _said_of(wrench))

    def build(self):
        self.fields["full_scale"] = torque(self.site, _("Full scale"))
        self.fields["tolerance"] = tolerance(
            required=False,
            help_text=_("Empty: 4 %, or 6 % for a wrench of 10 N·m at most (ISO 6789)"),
        )
        for name, label in (
            ("length", _("Length from square to grip")),
            ("adapter", _("Length of the adapter that hangs with it")),
        ):
            unit = unit_at(self.site, "length")
            self.fields[name] = QuantityField(
                "length", unit=unit, most_si=MOST_LENGTH_MM, required=False, label=label
            )
        if self.wrench:
            self.fields["reason"] = forms.CharField(max_length=300, label=_("Why it changes"))
        self.order_fields(["act", "name", "type", "full_scale", "tolerance"])

    def clean(self):
        cleaned = super().clean()
        if cleaned.get("adapter") and not cleaned.get("length"):
            self.add_error("length", _("An adapter changes the setting by the wrench’s length"))
        return cleaned

    def value(self):
        """Return the wrench's whole value as plain JSON."""
        said = self.cleaned_data
        full_scale = said["full_scale"]
        share = said["tolerance"] and said["tolerance"] / 100
        figures = {
            "full_scale_nm": full_scale.si,
            "tolerance": share or Decimal(str(iso6789_tolerance(full_scale.si))),
            "length_mm": si(said["length"]),
            "adapter_mm": si(said["adapter"]),
        }
        return {
            **{name: said[name] for name in PLAIN},
            "full_scale_typed": typed(full_scale),
            **{name: value and format(value, "f") for name, value in figures.items()},
        }


def _said_of(wrench):
    lengths, units = {"length": wrench.length_mm, "adapter": wrench.adapter_mm}, wrench.site.units
    return {
        **{name: getattr(wrench, name) for name in PLAIN},
        "full_scale": as_typed(wrench.full_scale_nm, "torque", units),
        "tolerance": (wrench.tolerance * 100).normalize(),
        **{name: as_typed(mm, "length", units) for name, mm in lengths.items() if mm},
    }


class CertificateForm(RackForm):
    """A laboratory's certificate, with its points as lines of text."""

    done_on = forms.DateField(widget=DayInput, label=_("Calibrated on"))
    number = forms.CharField(max_length=60, label=_("Number of the certificate"))
    laboratory = forms.CharField(required=False, max_length=120, label=_("Laboratory"))
    points = forms.CharField(
        widget=forms.Textarea(attrs=POINT_LINES),
        label=_("Errors at three torques or more, one a line"),
        help_text=_(
            "What was set, then as found and as left, parted by | or tabs: 20 N.m | -3 % | 0.5 %, "
            "or what it delivered: 20 N.m | 19.4 N.m | 20.1 N.m. Plus delivers too much."
        ),
    )
    file = forms.FileField(
        required=False,
        label=_("The certificate itself"),
        help_text=_("PDF, JPEG or PNG, 12 MB at most"),
    )

    def __init__(self, wrench, today, data=None, files=None):
        self.wrench, self.today = wrench, today
        percent = (wrench.tolerance * 100).normalize()
        super().__init__(
            data,
            files,
            initial={"done_on": today, "points": POINTS_BEGUN, "tolerance": f"{percent:f}"},
        )

    def build(self):
        self.fields["tolerance"] = tolerance()
        self.order_fields(["act", "done_on", "number", "laboratory", "tolerance"])

    def clean_done_on(self):
        day = self.cleaned_data["done_on"]
        if day > self.today:
            last = shown_day(self.today, self.wrench.site.date_order)
            raise ValidationError(gettext("A day up to %s") % last)
        return day

    def clean_points(self):
        unit = UNITS_OF[self.wrench.site.units]["torque"]
        try:
            return read_points(self.cleaned_data["points"], unit)
        except BadPoint as bad:
            raise ValidationError(str(bad)) from bad

    def clean_file(self):
        upload = self.cleaned_data["file"]
        try:
            return upload and papers.take(upload, FOLDER)
        except papers.PaperRefused as refused:
            raise ValidationError(refused.why) from refused

    def about(self):
        """Return the certificate's own values."""
        said = self.cleaned_data
        paper = said["file"]
        return {
            "number": said["number"],
            "laboratory": said["laboratory"],
            "tolerance": said["tolerance"] / 100,
            "file_name": paper.name if paper else "",
            "file_sha256": paper.sha256 if paper else "",
            "file_copy_sha256": (paper and paper.copy_sha256) or None,
        }

    def when(self):
        """Return the times of the calibration: now for today, else noon of its day."""
        day = self.cleaned_data["done_on"]
        if day == self.today:
            return {}
        return {"done_at": noon_of(day, self.wrench.site.zone), "day_only": True}


class QuickCheckForm(RackForm):
    """What was set and what the tester read."""

    def __init__(self, wrench, tester, data=None):
        self.wrench = wrench
        super().__init__(data, initial={"tester": tester})

    def build(self):
        site = self.wrench.site
        self.fields["set"] = torque(site, _("Set on the wrench"))
        self.fields["read"] = torque(site, _("Read on the tester"))
        self.fields["tester"] = forms.CharField(
            required=False, max_length=60, label=_("Which tester")
        )

    def clean_set(self):
        setting = self.cleaned_data["set"]
        if setting.si > self.wrench.full_scale_nm:
            raise ValidationError(_("More than the wrench’s full scale"))
        return setting

    def clean(self):
        cleaned = super().clean()
        setting, read = cleaned.get("set"), cleaned.get("read")
        if setting and read and abs(read.si - setting.si) > setting.si * WORST_ERROR:
            self.add_error("read", TOO_FAR_OFF)
        return cleaned

    def about(self):
        said = self.cleaned_data
        return {
            "tester": said["tester"],
            "set_typed": typed(said["set"]),
            "set_nm": si(said["set"]),
            "read_typed": typed(said["read"]),
            "read_nm": si(said["read"]),
            "tolerance": self.wrench.tolerance,
        }


What = WrenchEvent.What
HURTS = [(what.value, what.label) for what in (What.DROPPED, What.ABUSED)]
OUT_OR_BACK = [(what.value, what.label) for what in (What.WITHDRAWN, What.RETURNED)]


class HurtForm(RackForm):
    """One press: what befell the wrench."""

    what = forms.ChoiceField(choices=HURTS)


class WithdrawForm(RackForm):
    """A manager takes a wrench out of use, or puts it back."""

    what = forms.ChoiceField(choices=OUT_OR_BACK, widget=forms.HiddenInput)
    note = forms.CharField(max_length=300, label=_("Why"))

    def __init__(self, data=None, *, is_out):
        what = What.RETURNED if is_out else What.WITHDRAWN
        super().__init__(data, initial={"what": what})


class StrikeForm(RackForm):
    reason = forms.CharField(max_length=300, label=_("Why it is taken back"))
