"""The demo's three invented kits: their joints stand in ``joints/``, with no target of a bolt.

Targets come out of thread, grade and nut factor by the tool's own formulas, as a share of
proof load that the demo chose. They are no advice for any cart.
"""

from dataclasses import dataclass
from pathlib import Path

from lifts.kit_lines import read_joints, read_points
from lifts.preload import torque_nm_for
from lifts.proof import thread_of
from lifts.threads import proof_load_n, read_grade

JOINTS = Path(__file__).with_name("joints")
INVENTED = "invented for the demo"
SHEET = "Invented for the demo: targets are shares of proof load, not advice for a cart."
ARM_POINTS = """\
point | count | marks
left king-pin | 2 |
left upper arm bushings | 2 |
left lower arm bushings | 2 |
shackle bushings | 4 | rubber
right lower arm bushings | 2 |
right upper arm bushings | 2 |
right king-pin | 2 |
rack | 1 | weight on
"""
SPINDLE_POINTS = """\
point | count | marks
left king-pin | 2 |
shackle bushings | 4 | rubber
right king-pin | 2 |
rack | 1 | weight on
"""
AXLE_POINTS = """\
point | count | marks
left king-pin | 2 |
drag link | 2 | weight on
left shackles | 2 |
right shackles | 2 |
right king-pin | 2 |
"""


@dataclass(frozen=True)
class DemoKit:
    """An invented kit; ``share`` of proof load is what its bolts are tightened to."""

    code: str
    name: str
    front: str
    rear: str
    rise_mm: int
    share: float
    points: str
    label_text: str

    def value(self):
        """Return the kit's whole value, as a manager's form makes it."""
        lines = (JOINTS / f"{self.code}.txt").read_text(encoding="utf-8")
        return {
            "code": self.code,
            "name": f"{self.name} ({INVENTED})",
            "edition": "edition 1",
            "front": self.front,
            "rear": self.rear,
            "rise_front_mm": str(self.rise_mm) if self.rise_mm else None,
            "rise_rear_mm": str(self.rise_mm) if self.rise_mm else None,
            "sheet": SHEET,
            "label_text": self.label_text,
            "joints": [self._with_target(joint) for joint in read_joints(lines, "N.m")],
            "points": read_points(self.points),
        }

    def _with_target(self, joint):
        if joint["target_nm"] or joint["is_by_look"]:
            return joint | {"source": INVENTED}
        thread = thread_of(joint["thread"])
        grade = read_grade(joint["grade"], is_inch=thread.is_inch)
        preload_n = self.share * proof_load_n(grade, thread)
        torque_nm = torque_nm_for(preload_n, float(joint["nut_factor"]), thread.diameter_mm)
        target = {"target_typed": f"{torque_nm:.0f} N.m", "target_nm": f"{torque_nm:.0f}"}
        return joint | target | {"source": f"{INVENTED}: {self.share:.0%} of proof load"}


KITS = (
    DemoKit(
        "harrow-4",
        "Harrow 4",
        "a-arm",
        "block",
        102,
        0.60,
        ARM_POINTS,
        "WARNING. This cart stands higher than it was built and tips over sooner. A tip-over or a"
        " fall from it can kill or cripple. Brake before the bend, keep off side slopes, sit back"
        " and hold on.",
    ),
    DemoKit(
        "lark-3",
        "Lark 3",
        "drop spindle",
        "block",
        76,
        0.55,
        SPINDLE_POINTS,
        "WARNING. Raised cart: it leans more and stops later. Whoever is thrown out can be killed."
        " Drive slower than you are used to, straight up and down slopes, arms and legs inside.",
    ),
    DemoKit(
        "tamsin-5",
        "Tamsin 5",
        "drop axle",
        "shackle",
        127,
        0.62,
        AXLE_POINTS,
        "WARNING. Lift and larger tyres are fitted. In a sharp turn this cart can roll and crush"
        " those in it. Turn slowly, carry no one standing, leave steep ground to others.",
    ),
)
# no lift: the lugs that are gone round at a cart without one
PLAIN_CART = DemoKit("plain-cart", "Plain cart, lugs", "none", "none", 0, 0.60, "", "")
