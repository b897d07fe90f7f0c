from lifts.models.brake import BrakeCheck
from lifts.models.drive import DriveCheck
from lifts.models.extra_joint import JointSeen
from lifts.models.fitting import Fitting, FittingLength, HubBearing, LugSeat, Removal, WheelOff
from lifts.models.grease import GreasePart, GreaseStroke, OldGrease, Thickener
from lifts.models.joints import JointPart, Lacks, Look, Stage, WrenchState
from lifts.models.kit import GreasePoint, Joint, Kit
from lifts.models.label import Condition, LabelCheck
from lifts.models.speed import SpeedRun
from lifts.models.stability import AxleLift, StabilityMeasure
from lifts.models.wheel_parts import HubLook, HubPlayCheck, TyreCheck, TyreLine
from lifts.models.wrench import (
    Wrench,
    WrenchCertificate,
    WrenchCheck,
    WrenchEvent,
    WrenchPoint,
)

__all__ = [
    "AxleLift",
    "BrakeCheck",
    "Condition",
    "DriveCheck",
    "Fitting",
    "FittingLength",
    "GreasePart",
    "GreasePoint",
    "GreaseStroke",
    "HubBearing",
    "HubLook",
    "HubPlayCheck",
    "Joint",
    "JointPart",
    "JointSeen",
    "Kit",
    "LabelCheck",
    "Lacks",
    "Look",
    "LugSeat",
    "OldGrease",
    "Removal",
    "SpeedRun",
    "StabilityMeasure",
    "Stage",
    "Thickener",
    "TyreCheck",
    "TyreLine",
    "WheelOff",
    "Wrench",
    "WrenchCertificate",
    "WrenchCheck",
    "WrenchEvent",
    "WrenchPoint",
    "WrenchState",
]
