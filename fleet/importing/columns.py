"""The columns of the sheets that fleet brings in: headings, words, examples. Pure."""

from fleet.sheets import ColumnSpec
from shared.units import UNITS_OF

NUMBER = ColumnSpec(
    "number",
    "Cart number",
    ("Cart", "Number", "Cart no.", "Unit", "Unit number", "Vehicle", "Fleet number"),
    required=True,
    example="107",
)
HOURS_HEADINGS = ("Hour meter", "Hour meter reading", "Engine hours", "Meter hours", "Hrs")
DISTANCE_HEADINGS = (
    "Distance meter",
    "Distance meter reading",
    "Odometer",
    "Miles",
    "Mileage",
    "Kilometres",
    "Kilometers",
)
POWER = {
    "electric": ("electric", "battery", "48 V", "36 V", "72 V"),
    "flooded": ("flooded", "lead acid", "electric, flooded battery", "wet cell"),
    "sealed": ("sealed", "agm", "gel", "electric, sealed battery"),
    "lithium": ("lithium", "li-ion", "lifepo4", "electric, lithium battery"),
    "petrol": ("petrol", "gas", "gasoline"),
}
USE_CLASS = {
    "rental": ("rental", "hire", "guest", "guests"),
    "staff": ("staff", "crew", "maintenance"),
    "shuttle": ("shuttle", "transport"),
    "owner": ("owner", "private", "resident"),
    "trail": ("trail", "hunt", "trail or hunt"),
    "shore": ("shore", "beach"),
}
TYRE_UNIT = "in"


def cart_columns(units: str) -> tuple[ColumnSpec, ...]:
    """Return the columns of a list of carts at a site with these units."""
    return (
        NUMBER,
        ColumnSpec("serial", "Serial", ("Serial number", "Serial no.", "Frame number", "VIN")),
        ColumnSpec("seats", "Seats", ("Seating", "Passengers"), kind="number", example="4"),
        ColumnSpec("power", "Power", ("Drive", "Fuel"), kind="choice", choices=POWER),
        ColumnSpec("use_class", "Use", ("Use class", "Used for"), kind="choice", choices=USE_CLASS),
        ColumnSpec("bay", "Bay", ("Parking bay", "Stall"), example="B12"),
        ColumnSpec("area", "Area", ("Yard", "Location", "Zone"), example="North yard"),
        ColumnSpec("colour", "Colour", ("Color",), example="white"),
        ColumnSpec(
            "model_year",
            "Model year",
            ("Year", "Year made"),
            kind="number",
            example="2021",
        ),
        ColumnSpec("tyre", "Tyre size", ("Tire size", "Tyres", "Tires"), example="22x11-10"),
        ColumnSpec(
            "tyre_size",
            "Tyre diameter",
            ("Tire diameter", "Tyre height", "Tire height"),
            kind="length",
            unit=TYRE_UNIT,
            example="22 in",
        ),
        ColumnSpec("hours", "Hours", HOURS_HEADINGS, kind="hours", example="412.5"),
        distance_column("distance", "Distance", DISTANCE_HEADINGS, units),
        ColumnSpec(
            "wheel_driven",
            "Meter driven by a wheel",
            ("Wheel driven", "Wheel-driven meter"),
            kind="yes_no",
            example="yes",
        ),
        ColumnSpec(
            "joined_on",
            "Joined on",
            ("Joined", "In fleet since", "Purchase date", "Bought on", "In service"),
            kind="date",
        ),
        ColumnSpec("owner_ref", "Owner reference", ("Owner", "Owner ref", "Lot"), example="Lot 14"),
        ColumnSpec(
            "insurer_told_on",
            "Insurer told on",
            ("Insurer told", "Insurer told of the lift on"),
            kind="date",
        ),
    )


def reading_columns(units: str) -> tuple[ColumnSpec, ...]:
    """Return the columns of a list of meter readings."""
    return (
        NUMBER,
        ColumnSpec(
            "read_at",
            "Read at",
            ("Date", "Read on", "Day", "When", "Date and time", "Timestamp"),
            required=True,
            kind="day_or_moment",
        ),
        ColumnSpec("hours", "Hours", HOURS_HEADINGS, kind="hours", example="412.5"),
        distance_column("distance", "Distance", DISTANCE_HEADINGS, units),
    )


def distance_column(code: str, heading: str, synonyms: tuple[str, ...], units: str) -> ColumnSpec:
    """Return a column of distances, in the site's unit where none is written."""
    unit = UNITS_OF[units]["distance"]
    return ColumnSpec(
        code, heading, synonyms, kind="distance", unit=unit, example=f"1,850.0 {unit}"
    )
