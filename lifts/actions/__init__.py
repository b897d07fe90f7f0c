from lifts.actions.fittings import (
    LiftsNothing,
    NotOnCart,
    WrongSite,
    correct_fitting,
    fit,
    fitting_facts,
    remove_lift,
    take_wheel_off,
)
from lifts.actions.kits import (
    KIT,
    AboveProof,
    KitKnown,
    KitReplaced,
    LiftOrPlain,
    TargetOutsideBand,
    add_kit,
    kit_rows,
    replace_kit,
)
from lifts.actions.old_lifts import fit_old
from lifts.actions.told import NotTold, count_told, strike_told

__all__ = [
    "KIT",
    "AboveProof",
    "KitKnown",
    "KitReplaced",
    "LiftOrPlain",
    "LiftsNothing",
    "NotOnCart",
    "NotTold",
    "TargetOutsideBand",
    "WrongSite",
    "add_kit",
    "correct_fitting",
    "count_told",
    "fit",
    "fit_old",
    "fitting_facts",
    "kit_rows",
    "remove_lift",
    "replace_kit",
    "strike_told",
    "take_wheel_off",
]
