"""Kits for tests: values as a manager's form makes them."""

from fleet.actions import register, sites
from lifts.actions import add_kit
from lifts.kit_lines import read_joint, read_joints, read_points
from shared.models import Role
from tests.factories import MORNING, PersonFactory

JOINT_LINES = """\
joint | family | wheel | count | thread | grade | target | order | locker | locking | marks
left front lugs | lugs | left front | 4 | 1/2-20 | | 80 N.m | star | | | critical
left tie-rod end | steering-joints | left front | 1 | | | 40 N.m | | | pin | critical
left rear lugs | lugs | left rear | 4 | 1/2-20 | | 80 N.m | star | | | critical
left U-bolts | u-bolts | left rear | 4 | M10 | 8.8 | 35 N.m | crosswise | | | critical, weight on
right rear lugs | lugs | right rear | 4 | 1/2-20 | | 80 N.m | star | | | critical
right front lugs | lugs | right front | 4 | 1/2-20 | | 80 N.m | star | | | critical
right hub nut | hub-nuts | right front | 1 | | | 70 N.m | | | pin | critical
front frame | other-joints | | 2 | M10 | 8.8 | 45 N.m | | medium | |
"""
POINT_LINES = """\
point | count | marks
left king pin | 2 |
shackle bushings | 4 | rubber
right king pin | 2 |
"""


def kit_value(**changes):
    value = {
        "code": "trial-kit",
        "name": "Trial kit",
        "edition": "edition 1",
        "front": "drop spindle",
        "rear": "block",
        "rise_front_mm": "76.2",
        "rise_rear_mm": "76.2",
        "sheet": "",
        "joints": read_joints(JOINT_LINES, "N.m"),
        "points": read_points(POINT_LINES),
    }
    return value | changes


def joint_value(name="tow eye", **cells):
    """One joint's values, as a manager's form makes them."""
    return read_joint({"joint": name, "family": "other-joints"} | cells, "N.m", "mm")


def a_site(slug="harbour", at=MORNING, **values):
    """A site with its rule book and its manager."""
    about = {"slug": slug, "name": slug.title(), "zone": "America/New_York", **values}
    manager = PersonFactory.build(name=f"Manager of {slug}")
    return sites.found_site(about, manager, at=at), manager


def with_role(site, manager, role=Role.MECHANIC, at=MORNING):
    person = PersonFactory()
    sites.give_role(site, person, role, site.day(at), None, by=manager, at=at)
    return person


def a_cart(site, by, number="7", at=MORNING, **values):
    return register.join_cart(site, {"number": number, **values}, by=by, at=at)


def a_kit(site, by, at=MORNING, **changes):
    return add_kit(site, kit_value(**changes), by=by, at=at)
