"""What is asked of one joint on a round's page."""

from django import forms
from django.utils.html import format_html
from django.utils.translation import gettext_lazy as _

from lifts.fields import PressedField, YesNoField
from lifts.joint_card import TWELFTH_DEG, is_hub, lacks
from lifts.models import HubBearing, Joint, Look
from lifts.nut_picture import nut_turned

TWELFTHS = {
    "1": _("1/12 turn"),
    "2": _("1/6 turn, one flat"),
    "4": _("1/3 turn"),
    "6": _("more"),
}
NOT_SAID = ("", _("not said"))
MOVED_LABEL = _("About how far did it move?")
BACKED_LABEL = _("The nut was backed off to fit the pin")
NUT_OFF_LABEL = _("Its nut was taken off this time")
NO_ADAPTER = ("", _("no adapter"))
ADAPTERS = [("0", _("adapter straight on")), ("90", _("adapter at 90°"))]


def fields_of(joint, known, rack):
    """Return the fields of a joint by their short names; ``known`` is its Before."""
    return {
        **_found_fields(joint),
        **(_pin_fields() if joint.has_pin else {}),
        **(_bearing_field() if asks_bearing(joint, known.hub_bearing) else {}),
        **({"stud": _tick(_("A stud is damaged"))} if joint.family == Joint.Family.LUGS else {}),
        **({"off": _tick(NUT_OFF_LABEL)} if asks_nut_off(joint) else {}),
        **(_wrench_fields(joint, rack) if not joint.is_by_look else {}),
    }


def asks_bearing(joint, bearing):
    """Whether the joint is a hub nut whose bearing nobody said yet."""
    return is_hub(joint) and lacks(joint, bearing) is not None and not bearing


def asks_nut_off(joint):
    is_self_locking = joint.locking == Joint.Locking.INSERT
    return is_self_locking or joint.removals_allowed is not None or joint.always_new


def _found_fields(joint):
    return {
        "found": _pressed(joint.name, Look.Found.choices),
        "moved": _pressed(MOVED_LABEL, [NOT_SAID, *_turns()]),
        "action": _pressed(_("What was done?"), Look.Action.choices),
        "right": YesNoField(required=False, label=_right_label(joint)),
    }


def _turns():
    for twelfths, said in TWELFTHS.items():
        yield twelfths, format_html("{} {}", nut_turned(int(twelfths) * TWELFTH_DEG), said)


def _pin_fields():
    return {
        "pin": _pressed(_("Cotter pin"), Look.Pin.choices[1:]),
        "backed": _tick(BACKED_LABEL),
    }


def _bearing_field():
    return {"bearing": _pressed(_("Which hub bearing? It is not on record."), HubBearing.choices)}


def _wrench_fields(joint, rack):
    wrenches = [("", _("the carried one that fits")), *rack.choices()]
    about = {
        "wrench": forms.ChoiceField(required=False, choices=wrenches, label=_("Another wrench"))
    }
    if not joint.no_adapter:
        about["adapter"] = _pressed(_("Through an adapter?"), [NO_ADAPTER, *ADAPTERS])
    return about


def _pressed(label, choices):
    return PressedField(required=False, choices=list(choices), label=label)


def _tick(label):
    return forms.BooleanField(required=False, label=label)


def _right_label(joint):
    if joint.family == Joint.Family.LUGS:
        return _("Whole wheel gone round again, all lugs at target?")
    return _("At its target now, no movement left?")
