"""The demo's two invented places, their people and their three invented kits."""

from dataclasses import dataclass
from pathlib import Path

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

JOINTS = Path(__file__).with_name("joints.txt").read_text(encoding="utf-8")
POINTS = """\
point | count | marks
left king-pin | 2 |
left arm bushings | 2 |
right arm bushings | 2 |
right king-pin | 2 |
shackle bushings | 4 | rubber
"""


@dataclass(frozen=True)
class DemoKit:
    """An invented kit; its targets are shares of proof that the demo chose."""

    code: str
    name: str
    front: str
    rear: str
    rise_mm: int
    share: float


KITS = (
    DemoKit("harrow-4", "Harrow 4 (invented for the demo)", "a-arm", "block", 102, 0.60),
    DemoKit("lark-3", "Lark 3 (invented for the demo)", "drop spindle", "block", 76, 0.55),
    DemoKit("tamsin-5", "Tamsin 5 (invented for the demo)", "drop axle", "shackle", 127, 0.62),
)


# ISO 898-1 and SAE J429 proof loads: M10 and M8 class 8.8, 1/2-20 grade 5
PROOF_KN = {"bolt": 33.64, "end": 21.23, "lug": 60.46, "tie": 33.64, "hub": 60.46}
DIAMETER_M = {"bolt": 0.010, "end": 0.008, "lug": 0.0127, "tie": 0.010, "hub": 0.0127}
NUT_FACTOR = 0.20  # dry, plated; common practice, no source


def joint_lines(kit):
    """Return the kit's joints as lines, each target its share of proof as a torque."""
    targets = {
        name: f"{kit.share * PROOF_KN[name] * 1000 * NUT_FACTOR * DIAMETER_M[name]:.0f} N.m"
        for name in PROOF_KN
    }
    return JOINTS.format(**targets)
