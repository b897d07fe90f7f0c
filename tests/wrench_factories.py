"""Wrenches for tests: values as the forms make them."""

from datetime import timedelta
from decimal import Decimal

from lifts.actions.wrenches import (
    add_certificate,
    add_quick_check,
    add_wrench,
    certificate_points,
)
from tests.factories import MORNING

DAY = timedelta(days=1)
SETS_NM = (20, 60, 100)


def wrench_value(**changes):
    value = {
        "name": "TW-1",
        "type": "click",
        "full_scale_typed": "100 N.m",
        "full_scale_nm": "100",
        "tolerance": "0.04",
        "drive": "1/2",
        "serial": "",
        "length_mm": None,
        "adapter_mm": None,
    }
    return value | changes


def a_wrench(site, by, at=MORNING, **changes):
    return add_wrench(site, wrench_value(**changes), by=by, at=at)


def a_certificate(wrench, by, at, *, found="0.01", left="0.01", id=None, **about):
    """A certificate with one error at three torques, as found and as left."""
    errors = Decimal(found), Decimal(left)
    points = certificate_points([(f"{nm} N.m", Decimal(nm), *errors) for nm in SETS_NM])
    about = {"number": "C-1", "laboratory": "Lab", "tolerance": Decimal("0.04"), **about}
    return add_certificate(wrench, about, points, by=by, at=at, id=id)


def a_quick_check(wrench, by, at, *, read="50.5", **more):
    about = {
        "set_typed": "50 N.m",
        "set_nm": Decimal(50),
        "read_typed": f"{read} N.m",
        "read_nm": Decimal(read),
        "tolerance": Decimal("0.04"),
    }
    return add_quick_check(wrench, about, by=by, at=at, **more)


def a_good_wrench(site, by, at=MORNING, **changes):
    wrench = a_wrench(site, by, at, **changes)
    a_certificate(wrench, by, at)
    return wrench
