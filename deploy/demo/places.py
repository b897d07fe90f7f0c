"""The demo's two invented places and their people."""

from dataclasses import dataclass

PASSWORDS = {
    "manager": "demo-manager-2026",
    "mechanic": "demo-mechanic-2026",
    "desk": "demo-front-desk-2026",
    "surveyor": "demo-surveyor-2026",
}


@dataclass(frozen=True)
class Place:
    """A site of the demo: what it says of itself, and who works there."""

    values: dict
    people: tuple[tuple[str, str, str], ...]
    bays: tuple[str, ...]


RESORT = Place(
    {
        "slug": "brindlewick",
        "name": "Brindlewick Shore Resort",
        "zone": "America/New_York",
        "units": "inch",
        "date_order": "mdy",
    },
    (
        ("manager", "Odalys Merrin", "manager@brindlewick.example"),
        ("mechanic", "Teo Varga", "mechanic@brindlewick.example"),
        ("mechanic", "Signe Aldous", "second-mechanic@brindlewick.example"),
        ("desk", "Wren Okello", "desk@brindlewick.example"),
        ("surveyor", "Ansel Droste", "surveyor@brindlewick.example"),
    ),
    ("North barn", "Pool yard", "Pier lot", "Garden row"),
)
VILLAGE = Place(
    {
        "slug": "mirrowmere",
        "name": "Mirrowmere Village",
        "zone": "America/Chicago",
        "units": "metric",
        "date_order": "ymd",
    },
    (
        ("manager", "Ilse Tamaro", "manager@mirrowmere.example"),
        ("mechanic", "Bram Quill", "mechanic@mirrowmere.example"),
        ("desk", "Noor Pell", "desk@mirrowmere.example"),
    ),
    ("Gatehouse", "Lake shed", "Green 9"),
)
