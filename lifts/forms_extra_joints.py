"""The forms of a joint that the kit's list lacks: seen, taken up, declined or ended."""

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts.fields import unit_at
from lifts.forms import FEW_LINES, ActForm
from lifts.kit_lines import JOINT_MARKS, LONGEST, MOST_COUNT, MOST_REMOVALS, BadLine, read_joint
from lifts.models import Joint
from lifts.proof_words import above_words
from lifts.wheels import Wheel
from shared.models import new_id
from shared.units import printed

NO_WHEEL = ("", _("no wheel, or between them"))
WHEELS = [NO_WHEEL, *Wheel.choices]
# the fields of a joint and the headings of a kit's list under which their values stand
HEADS = {
    "name": "joint",
    "family": "family",
    "wheel": "wheel",
    "count": "count",
    "thread": "thread",
    "pitch": "pitch mm",
    "grade": "grade",
    "grip": "grip",
    "factor": "K",
    "target": "target",
    "low": "low",
    "high": "high",
    "stages": "stages",
    "order": "order",
    "locker": "locker",
    "locking": "locking",
    "removals": "removals",
    "marks": "marks",
    "source": "source",
}
FIELDS = {head: name for name, head in HEADS.items()}
MARKS = {
    "critical": _("critical"),
    "weight on": _("weight on the axle"),
    "by look": _("by look, no torque"),
    "galvanised": _("galvanised"),
    "no adapter": _("no adapter on the wrench"),
    "new each time": _("new each time"),
}


def _named():
    return forms.CharField(
        max_length=LONGEST["joint"],
        label=_("Joint"),
        help_text=_("As one would call it at the cart, such as “tow eye bolts”"),
    )


def _counted():
    return forms.IntegerField(
        min_value=1, max_value=MOST_COUNT, initial=1, label=_("How many alike")
    )


class JointSeenForm(ActForm):
    """A joint at the cart that the kit's list lacks."""

    name = _named()
    family = forms.ChoiceField(
        choices=Joint.Family.choices, initial=Joint.Family.OTHER, label=_("Family")
    )
    wheel = forms.ChoiceField(choices=WHEELS, required=False, label=_("Wheel"))
    count = _counted()
    thread = forms.CharField(
        required=False, max_length=LONGEST["thread"], label=_("Thread, as far as it can be told")
    )
    note = forms.CharField(
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs=FEW_LINES),
        label=_("What it holds, and what was seen"),
    )

    def said(self):
        names = ("name", "family", "wheel", "count", "thread", "note")
        return {"about": {name: self.cleaned_data[name] for name in names}, **self.when()}


def _short(label, head, **about):
    return forms.CharField(required=False, max_length=LONGEST.get(head, 40), label=label, **about)


def _choice(label, choices):
    return forms.ChoiceField(required=False, choices=choices, label=label)


class TakeUpForm(forms.Form):
    """A joint as the manager puts it on its cart's list, by the rules of a kit's list.

    Why a target above proof load may stand is asked only once such a target was refused.
    """

    act = forms.UUIDField(widget=forms.HiddenInput)
    name = _named()
    family = forms.ChoiceField(choices=Joint.Family.choices, label=_("Family"))
    wheel = forms.ChoiceField(choices=WHEELS, required=False, label=_("Wheel"))
    count = _counted()
    thread = _short(_("Thread"), "thread", help_text=_("Such as M10, 1/2-20 or taper"))
    pitch = _short(_("Pitch in mm, where the thread does not say it"), "pitch mm")
    grade = _short(_("Grade, as marked on the head"), "grade")
    target = _short(_("Target"), "target")
    low = _short(_("Low"), "low")
    high = _short(_("High"), "high")
    stages = _short(_("Stages"), "stages", help_text=_("Such as 50, 80, 100 %"))
    order = _choice(_("Order"), Joint.Pattern.choices)
    locker = _choice(_("Thread-lock"), Joint.Locker.choices)
    locking = _choice(_("Locking"), Joint.Locking.choices)
    marks = forms.MultipleChoiceField(
        required=False,
        choices=[(mark, MARKS[mark]) for mark in JOINT_MARKS],
        widget=forms.CheckboxSelectMultiple,
        label=_("Minded there"),
    )
    removals = forms.IntegerField(
        required=False,
        min_value=0,
        max_value=MOST_REMOVALS,
        label=_("How often its nut may come off"),
    )
    grip = _short(_("Grip length"), "grip")
    factor = _short(_("Nut factor K"), "K")
    source = _short(_("Whose figure the target is"), "source")
    reason = forms.CharField(
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs=FEW_LINES),
        label=_("Why it goes on the list"),
    )

    def __init__(self, seen, data=None, *, signer=""):
        super().__init__(data, initial={"act": new_id(), **_as_seen(seen)})
        self.site, self.signer = seen.cart.site, signer
        for names, quantity in ((("target", "low", "high"), "torque"), (("grip",), "length")):
            for name in names:
                self.fields[name].help_text = printed(unit_at(self.site, quantity))
        if "above_proof" in self.data:
            self.fields["above_proof"] = self._signature()

    def _signature(self):
        return forms.CharField(
            required=False,
            max_length=500,
            widget=forms.Textarea(attrs=FEW_LINES),
            label=gettext("Why it may stand, signed as %s") % self.signer,
            help_text=gettext("Needed unless the target, the grade or K is put right"),
        )

    def clean(self):
        if not self.errors:
            units = (unit_at(self.site, quantity) for quantity in ("torque", "length"))
            try:
                self.joint = read_joint(self._cells(), *units)
            except BadLine as bad:
                self.add_error(FIELDS[bad.head], bad.accepted)

    def _cells(self):
        said = self.cleaned_data | {"marks": ", ".join(self.cleaned_data["marks"])}
        cells = {head: said[name] for name, head in HEADS.items()}
        return {head: "" if value is None else str(value) for head, value in cells.items()}

    def said(self):
        signed = {"above_proof": self.cleaned_data.get("above_proof", "")}
        return {"value": self.joint | signed, "reason": self.cleaned_data["reason"]}

    def ask_signature(self, joints):
        """Come back with a field for the manager's reason, and say what is above proof."""
        self.fields.setdefault("above_proof", self._signature())
        self.add_error(None, gettext("Not recorded yet: the target is above proof load, see below"))
        said = [above_words(joint, share, self.site.units) for joint, share in joints]
        self.add_error("above_proof", said)


def _as_seen(seen):
    return {name: getattr(seen, name) for name in ("name", "family", "wheel", "count", "thread")}


class ReasonForm(forms.Form):
    """Why a joint is declined, or ended."""

    act = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(max_length=500, widget=forms.Textarea(attrs=FEW_LINES), label=_("Why"))

    def __init__(self, data=None):
        super().__init__(data, initial={"act": new_id()})

    def said(self):
        return {"reason": self.cleaned_data["reason"]}
