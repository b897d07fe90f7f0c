"""What starts clocks on a lifted cart, in the words of the rule book."""

from django.utils.translation import gettext_lazy as _

from lifts.findings import LOCK_AGAIN, LUG_TOOK_UP, STEERING_LOOSE, U_BOLT_SLACK, U_BOLT_TOOK_UP
from lifts.parts.grease import GREASE_BLOCKED, WATER_IN_GREASE
from lifts.parts.label import LABEL_WANTING
from lifts.source import FITTED, UNPROVEN, WHEEL_OFF

EVENTS = {
    FITTED: _("a lift is fitted"),
    UNPROVEN: _("a lift is found without papers"),
    WHEEL_OFF: _("a wheel has been off"),
    LUG_TOOK_UP: _("a lug nut took up"),
    U_BOLT_TOOK_UP: _("a U-bolt took up while settling"),
    U_BOLT_SLACK: _("a U-bolt was slack, or took up after settling, or was firm once since"),
    STEERING_LOOSE: _("a steering joint was loose, or its pin missing"),
    GREASE_BLOCKED: _("a grease fitting was blocked or missing"),
    WATER_IN_GREASE: _("the old grease was milky or gritty"),
    LABEL_WANTING: _("the warning label was not in place, legible and in sight"),
    LOCK_AGAIN: _("a locked joint moved, so that its bond is broken"),
}
