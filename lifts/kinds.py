"""The kinds of recheck of a lifted cart. Minutes are common practice, no source."""

from django.utils.translation import gettext_lazy as _

from fleet.kinds import Kind
from lifts import pieces

JOINTS, GREASE, LABEL, TYRES = "joints", "grease", "label", "tyres"
BRAKE, SPEED, HUB_PLAY, CAMBER_TOE = "brake", "speed", "hub-play", "camber-toe"
DRIVE = "drive"
SETTLE_PARTS = (JOINTS, GREASE, TYRES, CAMBER_TOE, BRAKE, LABEL)
ALL_PARTS = (*SETTLE_PARTS, SPEED, HUB_PLAY)

FIRST_CHECK = frozenset({pieces.LUGS, pieces.U_BOLTS, pieces.HUB_NUTS, pieces.BRAKE, pieces.LABEL})
SHORT_CHECK = frozenset(
    {pieces.LUGS, pieces.U_BOLTS, pieces.HUB_NUTS, pieces.STEERING, pieces.LABEL}
)
SETTLE_CHECK = pieces.JOINTS | {
    pieces.GREASE,
    pieces.TYRES,
    pieces.CAMBER_TOE,
    pieces.BRAKE,
    pieces.LABEL,
}
CLOSE_OUT = SETTLE_CHECK | {pieces.STOP_RUN, pieces.SPEED, pieces.DRIVE}
STOPPING = frozenset({pieces.BRAKE, pieces.STOP_RUN})

KINDS = (
    # the road is driven on another day than the joints are done
    Kind(
        "fitting-close-out",
        _("Fitting close-out"),
        120,
        CLOSE_OUT,
        (*SETTLE_PARTS, DRIVE, SPEED),
        gathers=True,
    ),
    Kind("first-check", _("First check"), 20, FIRST_CHECK, (JOINTS, BRAKE, LABEL)),
    Kind("settle-check", _("Settle check"), 50, SETTLE_CHECK, SETTLE_PARTS),
    Kind(
        "second-settle-check",
        _("Second settle check"),
        45,
        pieces.JOINTS | {pieces.CAMBER_TOE},
        (JOINTS, CAMBER_TOE),
    ),
    Kind("joint-round", _("Joint round"), 30, pieces.JOINTS, (JOINTS,)),
    Kind("grease-round", _("Grease round"), 15, frozenset({pieces.GREASE}), (GREASE,)),
    Kind(
        "grease-point",
        _("Blocked grease point"),
        10,
        frozenset({pieces.of_point("{subject}")}),
        (GREASE,),
    ),
    Kind("label-check", _("Label check"), 3, frozenset({pieces.LABEL}), (LABEL,)),
    Kind("tyre-check", _("Tyre check"), 6, frozenset({pieces.TYRES}), (TYRES,)),
    Kind("brake-check", _("Brake check"), 20, STOPPING, (BRAKE,)),
    Kind("speed-run", _("Speed run"), 15, frozenset({pieces.SPEED}), (SPEED,)),
    Kind("hub-play", _("Hub play"), 12, frozenset({pieces.HUB_PLAY}), (HUB_PLAY,)),
    Kind("short-check", _("Short check"), 10, SHORT_CHECK, (JOINTS, LABEL)),
    Kind(
        "wheel-lugs",
        _("Lugs of one wheel"),
        5,
        frozenset({pieces.of_wheel(pieces.LUGS, "{subject}")}),
        (JOINTS,),
    ),
    Kind("all-lugs", _("Lugs of all wheels"), 10, frozenset({pieces.LUGS}), (JOINTS,)),
    Kind("steering-round", _("Steering joints again"), 10, frozenset({pieces.STEERING}), (JOINTS,)),
    Kind("u-bolt-repeat", _("U-bolts again"), 10, frozenset({pieces.U_BOLTS}), (JOINTS,)),
    Kind(
        "joint-look",
        _("Joint to look at again"),
        5,
        frozenset({pieces.of_joint("{subject}")}),
        (JOINTS,),
    ),
    Kind(
        "lock-again",
        _("Lock the joint again"),
        15,
        frozenset({pieces.of_relocking("{subject}")}),
        (JOINTS,),
    ),
    Kind("jam-nuts", _("Jam nuts of the steering"), 5, frozenset({pieces.JAM_NUTS}), (JOINTS,)),
    Kind("test-drive", _("Test drive"), 10, frozenset({pieces.DRIVE}), (DRIVE,)),
    Kind("baseline", _("Baseline"), 130, pieces.EVERYTHING, ALL_PARTS),
    Kind("yearly-visit", _("Yearly visit"), 130, pieces.EVERYTHING, ALL_PARTS),
)
