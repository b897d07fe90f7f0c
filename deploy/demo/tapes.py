"""What the demo's mechanics read off squares, gauges and tapes: rounded to a mark, as typed."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import radians, tan
from random import Random

from deploy.demo.answers import INCH_MM, measure

GAUGE_MARK = Decimal("0.1")
GAP_MM = 25.0
TRACK_MM = {"inch": 36 * 25.4, "metric": 914.0}
BETWEEN = {"inch": "12 in", "metric": "300 mm"}
PRESSURE = {"inch": "21 psi", "metric": "145 kPa"}
CAMBER_SCATTER_DEG, GAP_SCATTER_MM, TOE_SCATTER_MM = 0.04, 0.12, 0.2


@dataclass(frozen=True)
class Tools:
    """What camber and toe are read with, and how often.

    ``rim_deg`` is how far a bent left rim leans, read again after half a turn of the wheel.
    ``floor`` is (low side, fall, over), the square on a sloping floor, the wheels on plates.
    """

    units: str = "inch"
    mark: str = "1/32 in"
    by_square: bool = False
    cambers: int = 2
    toes: int = 3
    rim_deg: float = 0.0
    floor: tuple[str, str, str] | None = None

    @property
    def mark_mm(self) -> float:
        return float(measure(self.mark, "length").si)

    def toe(self, toe_mm: float, random: Random) -> tuple[str, str]:
        """Return front and rear of the tyres as the tape shows them."""
        front_mm = TRACK_MM[self.units] + random.uniform(-6, 6)
        rear_mm = front_mm + toe_mm + random.gauss(0, TOE_SCATTER_MM)
        return self.typed(front_mm), self.typed(rear_mm)

    def gaps(self, camber_deg: float, random: Random) -> tuple[str, str]:
        """Return the gaps at top and bottom of the rim as the square shows them."""
        across_mm = float(measure(BETWEEN[self.units], "length").si) * tan(radians(camber_deg))
        top_mm = GAP_MM + random.gauss(0, GAP_SCATTER_MM)
        return self.typed(top_mm), self.typed(top_mm + across_mm)

    def gauge(self, camber_deg: float, random: Random) -> str:
        read = Decimal(camber_deg + random.gauss(0, CAMBER_SCATTER_DEG))
        return f"{read.quantize(GAUGE_MARK) + 0}"

    def typed(self, mm: float) -> str:
        """Return a length rounded to the mark, whole inches and a fraction, or mm."""
        marks = round(mm / self.mark_mm)
        if self.units == "metric":
            return f"{marks * self.mark_mm:g} mm"
        inches = Fraction(marks * measure(self.mark, "length").si / INCH_MM).limit_denominator(64)
        whole, part = divmod(inches, 1)
        said = (str(whole) if whole or not part else "", str(part) if part else "", "in")
        return " ".join(filter(None, said))
