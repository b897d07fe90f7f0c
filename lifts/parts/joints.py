from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from fleet.kinds import Cut
from fleet.visits import stage_then
from lifts import pieces
from lifts.findings import outcome_of_looks
from lifts.looks import looks_before, looks_since
from lifts.models import Joint, JointPart, Kit, Look, Wrench, WrenchState
from lifts.parts.base import YES_OR_NO, LiftPart, PartForm, numbered, yes_or_no
from lifts.parts.joint_cards import Cards
from lifts.parts.joint_fields import fields_of
from lifts.parts.joint_looks import MOVED, detail_of, look_at, move_look
from lifts.parts.joint_wrenches import Rack, carried_before, names_of
from lifts.visit_kit import cut_then, joints_at, lift_now, lift_then


class JointsForm(PartForm):
    """A card for each joint of the pieces of work that the visit asks for."""

    cautions = (
        _("Keep a jack under the axle while a U-bolt is off; one side at a time."),
        _("Never use pins, stretched studs or U-bolts again; never back a castle nut off."),
        _("No oil on lugs unless the maker says so. The kit maker's sheet comes first."),
    )

    wrenches = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label=_("Torque wrenches carried"),
        help_text=_("With none pressed, what must be torqued stays called for."),
    )

    def build(self):
        self.joints = [joint for joint in joints_at(self.visit) if self._is_wanted(joint)]
        self.before = self.known_now = self._since(lift_now, self.visit.opening)
        if self.visit.corrects:
            self.before = self._since(lift_then, self.visit.once(cut_then))
        self.rack = self.rack_then = Rack(self.visit)
        self.fields["wrenches"].choices = self.rack.choices()
        self.fields["wrenches"].initial = carried_before(self.visit, self.rack)
        self.families = list(dict.fromkeys(joint.family for joint in self.joints))
        for family in self.families:
            label = _("Not done this visit: %(family)s") % {"family": Joint.Family(family).label}
            self.fields[f"skip-{family}"] = forms.BooleanField(required=False, label=label)
        for joint in self.joints:
            about = fields_of(joint, self.before.of(joint), self.rack)
            self.fields.update({f"{name}-{joint.pk}": field for name, field in about.items()})

    def before_at(self, at):
        """Return what is known of the joints from the looks before a moment of the visit."""
        cut = Cut(at, self.visit.known_by)
        return looks_before(self.visit.cart, cut, but_round=self.visit.corrects)

    def _since(self, lift_of, cut):
        lift, visit = self.visit.once(lift_of), self.visit
        return looks_since(lift, visit.cart, cut, but_round=visit.corrects)

    def bearing_of(self, joint):
        """Return the hub bearing as said here, known by then, or told since of the same lift."""
        bearing = self.of(joint, "bearing") or self.before.of(joint).hub_bearing
        if not bearing and self.known_now.fitting_id == self.before.fitting_id:
            return self.known_now.of(joint).hub_bearing
        return bearing

    def _is_wanted(self, joint):
        return bool(pieces.of_look(joint) & self.visit.pieces)

    def carried(self):
        """Return the wrenches said to be carried, those of before until something is said."""
        return self.rack.of(self["wrenches"].value() or [])

    def carried_or_rack(self):
        """Return what a card may count on: with nothing carried yet, all that hangs there."""
        return self.carried() or self.rack.of(self.rack.standings)

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
        if found == Look.Found.GONE and self.of(joint, "right") and not self.of(joint, "action"):
            said = gettext("%(joint)s: it was gone and is right now: say what was done") % named
            self._object("action", joint, said)
        reached = found and found != Look.Found.NOT_REACHED
        if joint.has_pin and reached and not self.of(joint, "pin"):
            self._object("pin", joint, gettext("%(joint)s: say how its pin is") % named)

    def _object(self, name, joint, message):
        self.add_error(f"{name}-{joint.pk}", message)

    def of(self, joint, name):
        return self.cleaned_data.get(f"{name}-{joint.pk}")

    def cards(self):
        return Cards(self).on_page()

    def on_paper(self):
        """Yield each joint's line on a printed sheet: name, boxes, what is known of it."""
        return Cards(self).on_paper()

    def nothing_asked(self):
        """Say what to do where no joint is asked for."""
        if self.visit.cart.is_lifted:
            return _(
                "No joint of the kit on this cart is asked for. Is a kit with its joints on record?"
            )
        return _(
            "This cart bears no lift, and no sheet for plain carts names these joints here. "
            "A manager adds a kit that lifts nothing, with the lugs of a plain cart; "
            "then they can be gone round."
        )

    def skips(self):
        return [self[f"skip-{family}"] for family in self.families]


class Joints(LiftPart):
    code = "joints"
    title = _("Joints")
    place = 10
    model = JointPart
    line_model = Look
    form_class = JointsForm
    template = "lifts/part_joints.html"
    cautions = JointsForm.cautions
    pieces = pieces.JOINTS | {pieces.JAM_NUTS}
    grades = {
        **YES_OR_NO,
        Look.Found.FIRM.value: 0,
        Look.Found.TOOK_UP.value: 1,
        Look.Found.NOT_REACHED.value: 1,
        Look.Found.SLACK.value: 2,
        Look.Found.GONE.value: 3,
        WrenchState.GOOD.value: 0,
        WrenchState.DUE.value: 1,
        WrenchState.UNNAMED.value: 1,
        WrenchState.DOUBTED.value: 2,
        WrenchState.WITHDRAWN.value: 2,
    }

    def facts(self, round_fact, form, fact_fields):
        done_at = fact_fields.get("done_at")
        is_late = done_at is not None and done_at < form.visit.at and not form.is_left_out
        if is_late:
            form.before, form.rack_then = form.before_at(done_at), Rack(form.visit, done_at)
        filed = super().facts(round_fact, form, fact_fields)
        # one told again keeps the stage that it was told in
        if is_late and not form.visit.corrects:
            for part, _looks in filed:
                part.stage = stage_then(form.visit.cart, done_at)
        return filed

    def read(self, form):
        values = {
            "offered": form.offered(),
            "stage": form.visit.stage,
            "wrench": names_of(form.carried()),
        }
        looks = [look_at(j, form, form.before.of(j), form.rack_then) for j in form.asked()]
        return values, numbered(looks)

    def is_at_lift(self, fact, lines):
        """Whether any joint is a lift's, not of the sheet for plain carts."""
        joints = Joint.objects.filter(pk__in=[look.joint_id for look in lines])
        return joints.filter(kit__in=Kit.objects.lifting()).exists()

    def moved(self, old, fact, lines, cart, at):
        """Count what is of the cart from the other one's looks; what was seen stays."""
        fact.stage = stage_then(cart, fact.done_at)
        cut = Cut.known_now(fact.done_at)
        there = looks_before(old.cart, cut, but_round=old.round_id)
        here = looks_before(cart, cut)
        joints = Joint.objects.in_bulk([look.joint_id for look in lines])
        for look in lines:
            joint = joints[look.joint_id]
            move_look(look, there.of(joint), here.of(joint))

    def outcome(self, fact, lines):
        return outcome_of_looks(fact.offered, fact.stage, lines)

    def verdicts(self, fact, lines):
        found = {look.name: look.found for look in lines}
        moved = (look for look in lines if look.found in MOVED)
        right = {f"{look.name}, put right": yes_or_no(look.right_after) for look in moved}
        turned = (look for look in lines if look.wrench_state)
        return found | right | {f"{look.name}, wrench": look.wrench_state for look in turned}

    def said(self, fact, lines):
        for look in lines:
            yield look.name, look.found, detail_of(look)

    def rows(self, facts):
        facts = list(facts)
        looks = self.lines_of([fact.pk for fact in facts])
        wrenches = {look.wrench_id for some in looks.values() for look in some}
        names = dict(Wrench.objects.filter(pk__in=wrenches).values_list("pk", "name"))
        for fact in facts:
            for look in looks[fact.pk]:
                detail = detail_of(look, names.get(look.wrench_id, ""))
                yield self.row(fact, look.name, look.found, detail)
