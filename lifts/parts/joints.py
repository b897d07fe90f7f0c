from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from lifts import pieces
from lifts.fields import PressedField, YesNoField
from lifts.findings import outcome_of_looks
from lifts.models import Joint, JointPart, Look
from lifts.parts.base import YES_OR_NO, LiftPart, PartForm, numbered, told, yes_or_no
from lifts.visit_kit import joints_at
from shared.units import shown

TWELFTHS = [
    ("", _("not said")),
    ("1", _("1/12 turn")),
    ("2", _("1/6 turn, one flat")),
    ("4", _("1/3 turn")),
    ("6", _("more")),
]
MOVED = {Look.Found.TOOK_UP, Look.Found.SLACK, Look.Found.GONE}

MOVED_LABEL = _("About how far did it move?")
BACKED_LABEL = _("The nut was backed off to fit the pin")


class JointsForm(PartForm):
    """A card for each joint of the pieces of work that the visit asks for."""

    cautions = (
        _("Keep a jack under the axle while a U-bolt is off; one side at a time."),
        _("Never use pins, stretched studs or U-bolts again; never back a castle nut off."),
        _("No oil on lugs unless the maker says so. The kit maker's sheet comes first."),
    )

    wrench = forms.CharField(required=False, max_length=60, label=_("Torque wrench"))

    def build(self):
        self.joints = [joint for joint in joints_at(self.visit) if self._is_wanted(joint)]
        self.families = list(dict.fromkeys(joint.family for joint in self.joints))
        for family in self.families:
            label = _("Not done this visit: %(family)s") % {"family": Joint.Family(family).label}
            self.fields[f"skip-{family}"] = forms.BooleanField(required=False, label=label)
        for joint in self.joints:
            self.fields.update(self._fields_of(joint))

    def _is_wanted(self, joint):
        return bool(pieces.of_look(joint) & self.visit.pieces)

    def _is_to_relock(self, joint):
        return pieces.of_relocking(joint.name) in self.visit.pieces

    def _fields_of(self, joint):
        about = {
            "found": PressedField(required=False, choices=Look.Found.choices, label=joint.name),
            "moved": PressedField(required=False, choices=TWELFTHS, label=MOVED_LABEL),
            "action": PressedField(
                required=False, choices=Look.Action.choices, label=_("What was done?")
            ),
            "right": YesNoField(required=False, label=_right_label(joint)),
        }
        if joint.has_pin:
            pins = Look.Pin.choices[1:]
            about["pin"] = PressedField(required=False, choices=pins, label=_("Cotter pin"))
            about["backed"] = forms.BooleanField(required=False, label=BACKED_LABEL)
        if joint.family == Joint.Family.LUGS:
            about["stud"] = forms.BooleanField(required=False, label=_("A stud is damaged"))
        return {f"{name}-{joint.pk}": field for name, field in about.items()}

    def asked(self):
        """The joints of the pieces that were not left out."""
        left_out = {f for f in self.families if self.cleaned_data.get(f"skip-{f}")}
        return [joint for joint in self.joints if joint.family not in left_out]

    def offered(self):
        covered = set().union(*(pieces.of_look(joint) for joint in self.asked()))
        return sorted(covered & self.visit.pieces)

    @property
    def is_left_out(self):
        return super().is_left_out or not self.asked()

    def clean(self):
        for joint in self.asked():
            self._check(joint)
        return super().clean()

    def _check(self, joint):
        named = {"joint": joint.name}
        found = self.of(joint, "found")
        if not found:
            self._object("found", joint, gettext("%(joint)s: say what was found") % named)
        if found in MOVED and self.of(joint, "right") is None:
            self._object("right", joint, gettext("%(joint)s: say whether it is right now") % named)
        reached = found and found != Look.Found.NOT_REACHED
        if joint.has_pin and reached and not self.of(joint, "pin"):
            self._object("pin", joint, gettext("%(joint)s: say how its pin is") % named)

    def _object(self, name, joint, message):
        self.add_error(f"{name}-{joint.pk}", message)

    def of(self, joint, name):
        return self.cleaned_data.get(f"{name}-{joint.pk}")

    def cards(self):
        """Yield each joint with its bound fields, for the page."""
        for joint in self.joints:
            names = ("found", "moved", "action", "right", "pin", "backed", "stud")
            bound = {n: self[f"{n}-{joint.pk}"] for n in names if f"{n}-{joint.pk}" in self.fields}
            about = list(about_joint(joint, self.visit.site.units))
            yield {"joint": joint, "about": about, "always": self._is_to_relock(joint), **bound}

    def on_paper(self):
        """Yield each joint's line on a printed sheet: name, boxes, what is known of it."""
        for joint in self.joints:
            about = " · ".join(about_joint(joint, self.visit.site.units))
            pins = [str(label) for _value, label in Look.Pin.choices[1:]] if joint.has_pin else []
            yield joint.name, [*Look.Found.labels, *pins], about

    def skips(self):
        return [self[f"skip-{family}"] for family in self.families]


def _right_label(joint):
    if joint.family == Joint.Family.LUGS:
        return _("Whole wheel gone round again, all lugs at target?")
    return _("At its target now, no movement left?")


def about_joint(joint, units):
    """Yield what a mechanic needs to know of a joint, in words, in the site's units."""
    thread = f"{joint.thread} {joint.grade}".strip()
    yield f"{joint.count} × {thread}" if thread else f"{joint.count} ×"
    if joint.target_nm is None:
        yield gettext("no target: kit sheet needed")
    else:
        yield gettext("target %s") % shown(joint.target_nm, "torque", units)
    for words in (joint.stages.replace("->", "→"), joint.pattern and joint.get_pattern_display()):
        if words:
            yield words
    if joint.weight_on:
        yield gettext("weight on the axle")
    if joint.thread_locker:
        yield gettext("thread-lock: %s") % joint.get_thread_locker_display()
    if joint.locking:
        yield joint.get_locking_display()


class Joints(LiftPart):
    code = "joints"
    title = _("Joints")
    place = 10
    model = JointPart
    line_model = Look
    form_class = JointsForm
    template = "lifts/part_joints.html"
    cautions = JointsForm.cautions
    pieces = pieces.JOINTS
    grades = {
        **YES_OR_NO,
        Look.Found.FIRM.value: 0,
        Look.Found.TOOK_UP.value: 1,
        Look.Found.NOT_REACHED.value: 1,
        Look.Found.SLACK.value: 2,
        Look.Found.GONE.value: 3,
    }

    def read(self, form):
        values = {
            "offered": form.offered(),
            "stage": form.visit.stage,
            "wrench": form.cleaned_data["wrench"],
        }
        return values, numbered([_look(form, joint) for joint in form.asked()])

    def outcome(self, fact, lines):
        return outcome_of_looks(fact.offered, fact.stage, lines)

    def verdicts(self, fact, lines):
        found = {look.name: look.found for look in lines}
        moved = (look for look in lines if look.found in MOVED)
        return found | {f"{look.name}, put right": yes_or_no(look.right_after) for look in moved}

    def said(self, fact, lines):
        for look in lines:
            yield (
                look.name,
                look.found,
                told(
                    moved_twelfths=look.moved_twelfths,
                    action=look.action,
                    right_after=look.right_after,
                    pin=look.pin,
                    backed_off=look.backed_off,
                    stud_damaged=look.stud_damaged,
                ),
            )


def _look(form, joint):
    found = form.of(joint, "found")
    moved = form.of(joint, "moved")
    return Look(
        joint=joint,
        name=joint.name,
        family=joint.family,
        wheel=joint.wheel,
        is_critical=joint.is_critical,
        is_thread_locked=bool(joint.thread_locker),
        found=found,
        moved_twelfths=int(moved) if moved and found in MOVED else None,
        action=form.of(joint, "action") or "",
        right_after=found == Look.Found.FIRM or bool(form.of(joint, "right")),
        pin=form.of(joint, "pin") or "",
        backed_off=bool(form.of(joint, "backed")),
        stud_damaged=bool(form.of(joint, "stud")),
    )
