"""What must be recorded before a cart leaves the stands, in words and in walking order."""

from django.utils.translation import pgettext_lazy

from lifts import pieces

PIECES = {
    pieces.LUGS: pgettext_lazy("not recorded", "wheel lugs"),
    pieces.HUB_NUTS: pgettext_lazy("not recorded", "hub nuts"),
    pieces.STEERING: pgettext_lazy("not recorded", "steering joints"),
    pieces.U_BOLTS: pgettext_lazy("not recorded", "U-bolts"),
    pieces.OTHER: pgettext_lazy("not recorded", "other joints"),
    pieces.GREASE: pgettext_lazy("not recorded", "grease"),
    pieces.TYRES: pgettext_lazy("not recorded", "tyres"),
    pieces.CAMBER_TOE: pgettext_lazy("not recorded", "provisional camber and toe"),
    pieces.BRAKE: pgettext_lazy("not recorded", "brake"),
    pieces.STOP_RUN: pgettext_lazy("not recorded", "stop run"),
    pieces.LABEL: pgettext_lazy("not recorded", "label"),
    pieces.SPEED: pgettext_lazy("not recorded", "speed run"),
    pieces.DRIVE: pgettext_lazy("not recorded", "test drive"),
}
