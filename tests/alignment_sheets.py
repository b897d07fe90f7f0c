"""Camber and toe sheets as recorded, for tests of what is made of them."""

from fleet.models import Round
from shared.facts import record
from shared.models import new_id
from tests.alignment_factories import NOON, GaugeFactory, SheetFactory, ToeFactory, mm, placed


def common(cart, by, at):
    return {"site_id": cart.site_id, "cart": cart, "by": by, "done_at": at, "written_at": at}


def a_round(cart, by, at=NOON):
    return record(Round(id=new_id(), opened_at=at, **common(cart, by, at)), at=at).fact


def a_sheet(row, *lines, known_at=None, **values):
    """Record a sheet in a round; without lines one that was found and left inside."""
    about = common(row.cart, row.by, row.done_at)
    lines = lines or read(left=0, right=0, toe="3/16")
    fact = SheetFactory(id=new_id(), round=row, **{**about, "passes": 1, **values})
    return record(fact, *placed(*lines), at=known_at or row.done_at).fact


def read(left=None, right=None, toe=None, pass_no=1, times=3):
    """Return readings of one pass: camber in degrees by a gauge, toe in inches, each ``times``."""
    stage = "found" if pass_no == 1 else "left"
    about = {"stage": stage, "pass_no": pass_no}
    cambers = [
        GaugeFactory(side=side, gauge_deg=deg, gauge_typed=f"{deg}", **about)
        for side, deg in (("left", left), ("right", right))
        if deg is not None
        for _ in range(times)
    ]
    if toe is None:
        return cambers
    rear_mm = mm("36") + mm(toe.removeprefix("-")) * (-1 if toe.startswith("-") else 1)
    tape = {"front": "36", "rear_mm": rear_mm, "rear_typed": f"36 in and {toe} in"}
    return cambers + [ToeFactory(**tape, **about) for _ in range(times)]
