from alignment.models.sheet import (
    CamberReading,
    CamberToeSheet,
    Side,
    Stage,
    ToeReading,
    Turn,
)
from alignment.models.spec import AlignmentSpec, CamberAdjusts

__all__ = [
    "AlignmentSpec",
    "CamberAdjusts",
    "CamberReading",
    "CamberToeSheet",
    "Side",
    "Stage",
    "ToeReading",
    "Turn",
]
