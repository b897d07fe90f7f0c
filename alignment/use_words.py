"""What a cart has run since its fitting, in a site's units."""

from decimal import Decimal

from shared.units import UNITS_OF, convert

METRES_A_KM = 1000


def use_said(hours: Decimal | None, km: Decimal | None, units: str) -> str:
    """Return "646.5 h, 2392.0 mi"; empty where no meter was read."""
    unit = UNITS_OF[units]["distance"]
    run = None if km is None else convert(km * METRES_A_KM, "m", unit)
    figures = ((hours, "h"), (run, unit))
    return ", ".join(f"{figure:.1f} {unit}" for figure, unit in figures if figure is not None)
