from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Hold, Outcome
from lifts import pieces
from lifts.fields import QuantityField, YesNoField, si, typed, unit_at
from lifts.models import DriveCheck
from lifts.parts.base import YES_OR_NO, LiftPart, PartForm, yes_or_no
from shared.units import with_unit

LONGEST_DRIVE_M = 100_000
PRESSED = ("clear_at_lock", "clear_at_bump", "runs_straight", "is_quiet")


class DriveForm(PartForm):
    """The test drive, after the brake was tried."""

    cautions = (
        _("Clear area, low speed, belts on, brake tried first, one person, no passengers."),
        _("Stop if the cart pulls, knocks or shakes."),
    )

    clear_at_lock = YesNoField(label=_("No rub at full lock, both ways?"))
    clear_at_bump = YesNoField(label=_("No rub at full bump?"))
    runs_straight = YesNoField(label=_("Runs straight, hands off?"))
    is_quiet = YesNoField(label=_("No knock, no shake?"))

    def build(self):
        self.fields["driven"] = QuantityField(
            "distance",
            unit=unit_at(self.visit.site, "distance"),
            most_si=LONGEST_DRIVE_M,
            required=False,
            label=_("How far it was driven"),
        )

    def presses(self):
        return [self[name] for name in PRESSED]


class Drive(LiftPart):
    code = "drive"
    title = _("Test drive")
    place = 65
    model = DriveCheck
    form_class = DriveForm
    template = "lifts/part_drive.html"
    cautions = DriveForm.cautions
    pieces = frozenset({pieces.DRIVE})
    grades = YES_OR_NO

    def read(self, form):
        said = form.cleaned_data
        driven = {"driven_typed": typed(said["driven"]), "driven_m": si(said["driven"])}
        return {name: said[name] for name in PRESSED} | driven, []

    def outcome(self, fact, lines):
        wrong = list(_wrong(fact))
        if not wrong:
            return Outcome(pieces=self.pieces)
        holds = tuple(Hold(pieces.DRIVE, reason) for reason, _tags in wrong)
        return Outcome(holds=holds, tag="; ".join(reason for reason, tags in wrong if tags))

    def verdicts(self, fact, lines):
        return {
            "clear at full lock": yes_or_no(fact.clear_at_lock),
            "clear at full bump": yes_or_no(fact.clear_at_bump),
            "runs straight": yes_or_no(fact.runs_straight),
            "quiet": yes_or_no(fact.is_quiet),
        }

    def said(self, fact, lines):
        wrong = [reason for reason, _tags in _wrong(fact)]
        driven = with_unit(fact.driven_typed, "distance", fact.driven_m)
        yield ("drive", "; ".join(wrong) or "no rub, straight, quiet", driven)


def _wrong(fact):
    """Yield (reason, whether it tags) for each thing found wrong."""
    if not fact.clear_at_lock:
        yield gettext("A tyre rubs at full lock"), True
    if not fact.clear_at_bump:
        yield gettext("A tyre rubs at full bump"), True
    if not fact.runs_straight:
        yield gettext("Does not run straight"), False
    if not fact.is_quiet:
        yield gettext("Knocks or shakes on the drive"), False
