from lifts.parts.brake import Brake
from lifts.parts.drive import Drive
from lifts.parts.grease import Grease
from lifts.parts.joints import Joints
from lifts.parts.label import Label
from lifts.parts.speed import Speed
from lifts.parts.wheels import HubPlay, Tyres

ALL_PARTS = (Joints(), Grease(), Tyres(), HubPlay(), Brake(), Drive(), Label(), Speed())

__all__ = ["ALL_PARTS"]
