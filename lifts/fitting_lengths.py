"""The lengths of a fitting record: each pair of figures before and after, or one alone."""

from dataclasses import dataclass

from django.utils.translation import gettext_lazy as _

from lifts.models import FittingLength

What = FittingLength.What


@dataclass(frozen=True)
class Length:
    """One length asked for: of what, where on the cart, in which group of the form.

    ``most_mm`` is the largest value taken; with ``may_be_negative`` also the least, below
    zero. ``has_before``: it was measured before the fitting too.
    """

    name: str
    what: str
    where: str
    label: str
    group: str
    most_mm: int
    has_before: bool = True
    may_be_negative: bool = False


BLOCKS, U_BOLTS, WHEELS, STANCE, BRAKE = "rise", "u-bolts", "wheels", "stance", "brake"

LENGTHS = (
    Length("block_left", What.BLOCK, "left", _("Block, left"), BLOCKS, 300, has_before=False),
    Length("block_right", What.BLOCK, "right", _("Block, right"), BLOCKS, 300, has_before=False),
    Length("u_bolt_leg", What.U_BOLT_LEG, "", _("U-bolt leg"), U_BOLTS, 600, has_before=False),
    Length("wheel_diameter", What.WHEEL_DIAMETER, "", _("Wheel diameter"), WHEELS, 600),
    Length("wheel_width", What.WHEEL_WIDTH, "", _("Wheel width"), WHEELS, 600),
    Length(
        "wheel_offset", What.WHEEL_OFFSET, "", _("Wheel offset"), WHEELS, 300, may_be_negative=True
    ),
    Length("track_front", What.TRACK, "front", _("Track in front"), STANCE, 3000),
    Length("track_rear", What.TRACK, "rear", _("Track behind"), STANCE, 3000),
    Length("ride_lf", What.RIDE_HEIGHT, "left front", _("Ride height, left front"), STANCE, 1500),
    Length("ride_rf", What.RIDE_HEIGHT, "right front", _("Ride height, right front"), STANCE, 1500),
    Length("ride_lr", What.RIDE_HEIGHT, "left rear", _("Ride height, left rear"), STANCE, 1500),
    Length("ride_rr", What.RIDE_HEIGHT, "right rear", _("Ride height, right rear"), STANCE, 1500),
    Length("brake_travel", What.BRAKE_TRAVEL, "", _("Brake pedal travel"), BRAKE, 300),
    Length(
        "cable_bracket",
        What.CABLE_BRACKET,
        "",
        _("Brake cable bracket moved by"),
        BRAKE,
        300,
        has_before=False,
    ),
)


def found_by_name(lines):
    """Return {name: FittingLength} of a fitting's lines."""
    names = {(one.what, one.where): one.name for one in LENGTHS}
    return {names[line.what, line.where]: line for line in lines}
