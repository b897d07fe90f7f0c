"""The form of a fitting record, in folded groups; told again, it begins as it was typed."""

from dataclasses import dataclass
from datetime import date

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext, gettext_noop, pgettext_lazy
from django.utils.translation import gettext_lazy as _

from lifts.fields import (
    YES_NO_UNSAID,
    LengthField,
    PressedField,
    QuantityField,
    si,
    typed,
    unit_at,
)
from lifts.fitting_lengths import LENGTHS, found_by_name
from lifts.forms import FEW_LINES, MOST_RISE_MM, MOST_TYRE_MM, ActForm
from lifts.meters_at_fitting import read_at, reading_id
from lifts.models import Fitting, FittingLength, HubBearing, Kit, LugSeat
from lifts.old_lifts import would_be_stopped
from lifts.parts.base import numbered
from shared.clock import noon_of
from shared.units import as_typed

MOST_U_BOLTS = 8
SIZES = (
    ("rise_front", "rise", _("Rise in front, measured"), MOST_RISE_MM),
    ("rise_rear", "rise", _("Rise behind, measured"), MOST_RISE_MM),
    ("tyre_before_size", "tyres", _("Diameter before, measured"), MOST_TYRE_MM),
    ("tyre_after_size", "tyres", _("Diameter now, measured"), MOST_TYRE_MM),
)
TEXTS = ("fitted_by", "firm", "tyre_before", "tyre_after", "u_bolt_batch", "note")
# columns of a later date: nothing said is null there
LATER = (
    "competence",
    "hub_bearing",
    "u_bolt_thread",
    "u_bolt_grade",
    "u_bolts_a_side",
    "block_taper",
    "block_why",
    "reused_parts",
    "locker_used",
    "lug_seat",
    "tyre_rating",
    "handed_to",
    "label_batch",
)
ANSWERS = ("u_bolts_new", "brake_tensioned", "clear_at_lock")
GROUPS = (
    ("rise", _("Rise and blocks"), ("rise_front", "rise_rear"), ("block_taper", "block_why")),
    (
        "u-bolts",
        _("U-bolts"),
        ("u_bolts_new", "u_bolt_thread"),
        ("u_bolts_a_side", "u_bolt_grade", "u_bolt_batch"),
    ),
    ("parts", _("Parts and thread-locker"), ("reused_parts", "locker_used"), ()),
    ("wheels", _("Wheels and hubs"), ("hub_bearing", "lug_seat"), ()),
    (
        "tyres",
        _("Tyres"),
        ("tyre_before", "tyre_before_size", "tyre_after", "tyre_after_size", "tyre_rating"),
        (),
    ),
    ("stance", _("Track and ride height"), (), ()),
    ("brake", _("Brake"), (), ("brake_tensioned",)),
    ("over", _("Handing over"), ("clear_at_lock", "handed_to", "label_batch", "note"), ()),
)
# without it the register of the cart would not follow
NO_CODE = gettext_noop("Say what stands on the tyres now, or “nothing to read”")
RAN, STOOD = "ran", "stood"
EARLIEST_DAY = date(1950, 1, 1)
MEASURES = (
    ("hours", _("Hour meter at the fitting"), 10**7),
    ("distance", _("Distance meter at the fitting"), 10**10),
)
# each drawn only where it is asked
ASKED = ("ran_since", "as_read")
FIRST = (
    "kit",
    "done_on",
    "ran_since",
    "hours",
    "distance",
    "as_read",
    "fitted_by",
    "firm",
    "competence",
    "paperwork",
    "reason",
)


@dataclass(frozen=True)
class FieldGroup:
    """Fields under one heading: folded away, but where something in them is wrong."""

    title: str
    fields: list

    @property
    def is_open(self):
        return any(field.errors for field in self.fields)


def _text(label, length=120, **more):
    return forms.CharField(required=False, max_length=length, label=label, **more)


def _one_of(choices, label):
    return forms.ChoiceField(required=False, choices=[("", _("not said")), *choices], label=label)


def _answer(label):
    return forms.TypedChoiceField(
        required=False,
        choices=YES_NO_UNSAID,
        coerce=lambda said: said == "yes",
        empty_value=None,
        label=label,
    )


class FittingForm(ActForm):
    """Told at a moment; ``is_manager``: by one who may say that a lift ran before that."""

    kit = forms.ModelChoiceField(Kit.objects.none(), label=_("Kit"))
    ran_since = PressedField(
        required=False,
        choices=[
            (RAN, _("It has run with this lift since")),
            (STOOD, _("It stood in the shop until now")),
        ],
        label=_("Has the cart run since?"),
        help_text=_(
            "Run: it comes in as an old lift, with a short check and a baseline to come; only a "
            "manager says so. Stood: the close-out comes before it runs."
        ),
    )
    as_read = forms.BooleanField(required=False, label=_("The meters showed that"))
    fitted_by = _text(_("Fitted by"), help_text=_("Full paperwork names who it was"))
    firm = _text(_("Firm, or own shop"))
    competence = _text(_("Licence, or what shows the fitter’s competence"))
    paperwork = forms.ChoiceField(choices=Fitting.Paperwork.choices, label=_("Paperwork"))
    block_taper = _text(_("Taper of the blocks, which way"), 60)
    block_why = _text(_("Why blocks, and why of that height"), 200)
    u_bolts_new = _answer(_("New U-bolts?"))
    u_bolt_thread = _text(_("U-bolt thread"), 40)
    u_bolts_a_side = forms.IntegerField(
        required=False, min_value=1, max_value=MOST_U_BOLTS, label=_("U-bolts a side")
    )
    u_bolt_grade = _text(_("U-bolt grade marking seen"), 40, help_text=_("or “none seen”"))
    u_bolt_batch = _text(_("U-bolt batch"), 60)
    reused_parts = _text(_("Parts used again"), 600, widget=forms.Textarea(attrs=FEW_LINES))
    locker_used = _text(_("Thread-locker, and at which joints"))
    hub_bearing = _one_of(HubBearing.choices, _("Hub bearings"))
    lug_seat = _one_of(LugSeat.choices, _("Seat of the lugs"))
    tyre_before = _text(_("Tyres before"), 40)
    tyre_after = _text(_("Tyres now"), 40, help_text=_("What stands on them, such as 20x10-10"))
    tyre_rating = _text(_("Rating marked on the tyres"), 40)
    brake_tensioned = _answer(_("Brake tensioned again?"))
    clear_at_lock = _answer(_("No rub at full lock and full bump?"))
    handed_to = _text(pgettext_lazy("a fitting", "Handed over to"))
    label_batch = _text(_("Batch of the warning label"), 60)
    note = _text(_("Note"), None, widget=forms.Textarea(attrs=FEW_LINES))

    cautions = (
        _("Nobody under a cart on a jack alone: stands beneath the chassis, rocked first."),
        _("Keep a jack under the axle when a U-bolt comes off; one side at a time."),
        _("Never use pins, stretched studs or U-bolts again."),
        _("The kit maker’s and the cart maker’s instructions come first."),
    )

    def __init__(self, cart, today, data=None, *, at=None, is_manager=False):
        super().__init__(cart, today, data)
        self.at, self.is_manager = at, is_manager

    def build(self):
        site = self.cart.site
        if not self.is_bound:
            for name in ASKED:
                del self.fields[name]
        self.fields["kit"].queryset = Kit.objects.current().lifting().filter(site=site)
        for name, label, most_si in MEASURES:
            about = {"most_si": most_si, "may_be_nought": True, "required": False}
            self.fields[name] = QuantityField(name, unit=unit_at(site, name), label=label, **about)
        unit = unit_at(site, "length")
        for name, _group, label, most_mm in SIZES:
            self.fields[name] = QuantityField(
                "length", unit=unit, most_si=most_mm, required=False, label=label
            )
        for length in LENGTHS:
            self.fields.update(_fields_of(length, unit))

    def takes(self, day):
        return day >= EARLIEST_DAY and self._is_before_start(day)

    def words_for(self, day):
        if day < self.first_day:
            yield gettext(
                "The cart joined on the first of them: if it was here before, a manager tells "
                "again on its page how it joined. A lift that it came with is taken here if the "
                "day lies before the site’s start day, which a manager sets on the Site page; or "
                "it comes in by a sheet “Lifts fitted”."
            )

    def _is_before_start(self, day):
        """Whether a lift of that day is older than the site's records; none of today is."""
        start_day = self.cart.site.start_day
        return start_day is not None and day < min(start_day, self.today)

    @property
    def asks(self):
        """Whether it is to be said if the cart ran: told now, its close-out would stop it."""
        day, kit = self.cleaned_data.get("done_on"), self.cleaned_data.get("kit")
        if not day or not kit or self._is_before_start(day):
            return False
        return would_be_stopped(self.cart, kit, day, self.today)

    @property
    def is_old(self):
        """Whether the lift comes in as an old one: it ran before anybody told of it."""
        said = self.cleaned_data
        is_before = self._is_before_start(said["done_on"])
        return is_before or (said.get("ran_since") == RAN and self.asks)

    def _check_ran_since(self, said):
        if not said:
            late = gettext("Told so late, its close-out would be past its limit: say which it is")
            self.add_error("ran_since", ValidationError(late))
        elif said == RAN and not self.is_manager:
            ask = gettext("Only a manager says so: ask one to record this fitting")
            self.add_error("ran_since", ValidationError(ask))

    def clean(self):
        cleaned = super().clean()
        if self.asks:
            self.fields["ran_since"].required = True
            self._check_ran_since(cleaned.get("ran_since"))
        else:
            self.fields.pop("ran_since", None)
        self._check_meters()
        if not cleaned.get("fitted_by") and cleaned.get("paperwork") == Fitting.Paperwork.FULL:
            said = gettext("Full paperwork names who fitted it; say who, or choose less")
            self.add_error("fitted_by", ValidationError(said))
        if cleaned.get("tyre_after_size") and not cleaned.get("tyre_after"):
            self.add_error("tyre_after", ValidationError(gettext(NO_CODE)))
        return cleaned

    def _check_meters(self):
        """Refuse what the meters cannot have shown; ask about what they hardly can."""
        read = self._read()
        if read is None or not read.judged.questions:
            self.fields.pop("as_read", None)
        for measure, *_about in MEASURES if read else ():
            refused = read.refused(measure, is_right=self.cleaned_data.get("as_read"))
            if refused:
                self.add_error(measure, ValidationError(refused))

    def _read(self):
        said = self.cleaned_data
        if not said.get("done_on"):
            return None
        when = self.when()
        at = when.get("done_at") or self.at or noon_of(self.today, self.cart.site.zone)
        figures = said.get("hours"), said.get("distance")
        own = reading_id(said["act"]) if "act" in said else None
        return read_at(self.cart, *figures, at, day_only="done_at" in when, but=own)

    def read(self, role):
        """Return what the meters showed at the fitting, as its reading says it."""
        read = self._read()
        return read and read.values(role)

    def first(self):
        return [self[name] for name in FIRST if name in self.fields]

    def groups(self):
        """Return the folded groups, the lengths of each between its other fields."""
        for group, title, before, after in GROUPS:
            lengths = [name for one in LENGTHS if one.group == group for name in _names_of(one)]
            names = [*before, *lengths, *after]
            yield FieldGroup(title, [self[name] for name in names])

    def about(self):
        """Return the fitting's own values."""
        said = self.cleaned_data
        values = {name: said[name] for name in (*TEXTS, *ANSWERS, "paperwork")}
        values |= {name: said[name] or None for name in LATER}
        for name in ("rise_front", "rise_rear"):
            values |= {f"{name}_typed": typed(said[name]), f"{name}_mm": si(said[name])}
        sizes = {name: si(said[f"{name}_size"]) for name in ("tyre_before", "tyre_after")}
        return values | {f"{name}_mm": size for name, size in sizes.items()}

    def lines(self):
        """Return the unsaved lengths that were said."""
        lines = [_line(length, self.cleaned_data) for length in LENGTHS]
        return numbered([line for line in lines if line])


class FittingAgainForm(FittingForm):
    """The same told again with a reason; the day stays."""

    reason = forms.CharField(max_length=300, label=_("Why it is told again"))

    def build(self):
        super().build()
        for name in ("done_on", "hours", "distance"):
            del self.fields[name]

    def begin_with(self, fitting, lines):
        """Fill the form in as the fitting was told."""
        known = self.fields["kit"].queryset | Kit.objects.filter(pk=fitting.kit_id)
        self.fields["kit"].queryset = known
        self.initial |= first_values(fitting, lines)


def _names_of(length):
    before = [f"{length.name}_before"] if length.has_before else []
    return [*before, f"{length.name}_after"]


def _fields_of(length, unit):
    labels = {f"{length.name}_after": length.label}
    if length.has_before:
        before, now = gettext("%(length)s, before"), gettext("%(length)s, now")
        labels = {
            f"{length.name}_before": before % {"length": length.label},
            f"{length.name}_after": now % {"length": length.label},
        }
    least = -length.most_mm if length.may_be_negative else 0
    return {
        name: LengthField(unit=unit, least_mm=least, most_mm=length.most_mm, label=label)
        for name, label in labels.items()
    }


def _line(length, said):
    before, after = said.get(f"{length.name}_before"), said[f"{length.name}_after"]
    if before is None and after is None:
        return None
    return FittingLength(
        what=length.what,
        where=length.where,
        before_typed=typed(before),
        before_mm=si(before),
        after_typed=typed(after),
        after_mm=si(after),
    )


def first_values(fitting, lines):
    """Return what the form that tells a fitting again begins with: all as it was typed."""
    values = {name: getattr(fitting, name) for name in (*TEXTS, *LATER, "paperwork")}
    values |= {"kit": fitting.kit_id}
    values |= {name: _yes_or_no(getattr(fitting, name)) for name in ANSWERS}
    values |= {name: getattr(fitting, f"{name}_typed") for name in ("rise_front", "rise_rear")}
    for name in ("tyre_before", "tyre_after"):
        size = getattr(fitting, f"{name}_mm")
        values |= {
            f"{name}_size": "" if size is None else as_typed(size, "length", fitting.site.units)
        }
    for name, line in found_by_name(lines).items():
        values |= {f"{name}_before": line.before_typed, f"{name}_after": line.after_typed}
    return values


def _yes_or_no(answer):
    return "" if answer is None else "yes" if answer else "no"
