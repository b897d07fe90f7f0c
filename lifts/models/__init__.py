from lifts.models.brake import BrakeCheck
from lifts.models.fitting import Fitting, Removal, WheelOff
from lifts.models.grease import GreasePart, GreaseStroke
from lifts.models.joints import JointPart, Look
from lifts.models.kit import GreasePoint, Joint, Kit
from lifts.models.label import LabelCheck
from lifts.models.speed import SpeedRun
from lifts.models.wheel_parts import HubLook, HubPlayCheck, TyreCheck, TyreLine

__all__ = [
    "BrakeCheck",
    "Fitting",
    "GreasePart",
    "GreasePoint",
    "GreaseStroke",
    "HubLook",
    "HubPlayCheck",
    "Joint",
    "JointPart",
    "Kit",
    "LabelCheck",
    "Look",
    "Removal",
    "SpeedRun",
    "TyreCheck",
    "TyreLine",
    "WheelOff",
]
