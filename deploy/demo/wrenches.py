"""The demo's torque wrenches: which hang where, who carries which, what befell them.

All of it is invented. ``ago`` counts days before the demo's own day.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from uuid import UUID, uuid5

from deploy.demo.answers import measure
from deploy.demo.carts import SEED
from deploy.demo.visits import Call
from fleet.kinds import Cut
from lifts.actions import wrenches as acts
from lifts.actions.rechecks import order_joint_looks
from lifts.found_out import finding_called, looks_found_out
from lifts.found_since import spoilt_looks
from lifts.torque import iso6789_tolerance

CHECK_DAYS, BOUGHT_AGO = 28, 420
SHARES = ("0.20", "0.60", "1.00")  # of full scale: where a laboratory measures
USUAL_ERRORS, AS_LEFT = ("0.004", "-0.008", "-0.011"), ("0.001", "0.002", "-0.003")
CHECK_ERROR, FAILED_ERROR = Decimal("-0.010"), Decimal("-0.130")
LABORATORY = "Quillon Torque Laboratory (invented)"
# W-1 of the resort: its last good check, then the certificate that found it out
LAST_GOOD_AGO, FOUND_OUT_AGO = 46, 11
FOUND_OUT_ERRORS = ("-0.052", "-0.138", "-0.146")
# W-5 of the resort took the place of W-4 until a quick check failed
LENT_AGO, FAILED_AGO, MENDED_AGO, DROPPED_AGO = 165, 150, 146, 5
FAILED_ERRORS = ("-0.126", "-0.131", "-0.134")
FAILED = uuid5(SEED, "quick check that failed")


def _monthly(last_ago):
    return tuple(range(last_ago, BOUGHT_AGO, CHECK_DAYS))


@dataclass(frozen=True)
class DemoWrench:
    """A wrench of a place; ``certified`` has the errors as found by days ago, ``checked`` days."""

    slug: str
    name: str
    full_scale: str
    type: str
    drive: str
    certified: dict[int, tuple] = field(hash=False)
    checked: tuple[int, ...]
    adapter: tuple[str, str] | None = None

    @property
    def id(self) -> UUID:
        return uuid5(SEED, f"wrench {self.slug} {self.name}")

    @property
    def full_scale_nm(self):
        return measure(self.full_scale, "torque").si

    def part_of_scale(self, share):
        """Return a share of full scale as typed in the wrench's own unit, and in N.m."""
        figure, unit = self.full_scale.split(" ")
        text = f"{(Decimal(figure) * Decimal(share)).normalize():f} {unit}"
        return text, _kept(measure(text, "torque").si)

    def value(self):
        length, adapter = self.adapter or (None, None)
        return {
            "name": self.name,
            "type": self.type,
            "drive": self.drive,
            "serial": self.id.hex[:6].upper(),
            "full_scale_typed": self.full_scale,
            "full_scale_nm": format(self.full_scale_nm, "f"),
            "tolerance": str(iso6789_tolerance(self.full_scale_nm)),
            "length_mm": length,
            "adapter_mm": adapter,
        }


def _good(*agos):
    return dict.fromkeys(agos, USUAL_ERRORS)


def _at(slug, *rows):
    return tuple(DemoWrench(slug, *row) for row in rows)


RACKS = {
    "brindlewick": _at(
        "brindlewick",
        (
            "W-1",
            "40 lbf.ft",
            "click",
            "3/8 in",
            _good(420, 200) | {FOUND_OUT_AGO: FOUND_OUT_ERRORS},
            _monthly(LAST_GOOD_AGO),
            ("260", "50"),
        ),
        ("W-2", "100 lbf.ft", "click", "1/2 in", _good(420, 120), _monthly(18)),
        ("W-3", "40 lbf.ft", "click", "3/8 in", _good(420, 352), _monthly(18)),
        ("W-4", "100 lbf.ft", "dial", "1/2 in", _good(420, 131), _monthly(18)),
        (
            "W-5",
            "100 lbf.ft",
            "click",
            "1/2 in",
            _good(420) | {MENDED_AGO: FAILED_ERRORS},
            (*_monthly(LENT_AGO), 130, 102, 74, 46, 18),
        ),
        ("W-6", "80 lbf.ft", "beam", "1/2 in", _good(420), _monthly(102)),
    ),
    "mirrowmere": _at(
        "mirrowmere",
        ("W-1", "50 N.m", "click", "10 mm", _good(420, 100), _monthly(8)),
        ("W-2", "130 N.m", "click", "1/2 in", _good(420, 101), _monthly(8)),
        ("W-3", "25 N.m", "dial", "10 mm", _good(420), _monthly(218)),
    ),
}
BEFELL = (
    ("brindlewick", "W-6", 92, "withdrawn", "Pointer bent."),
    ("mirrowmere", "W-3", 205, "withdrawn", "Its scale is too short for this work."),
    ("brindlewick", "W-5", DROPPED_AGO, "dropped", "Fell off a cart bed, onto stone."),
)
# what each mechanic of a place carries, in the order in which they are listed there
PAIRS = {"brindlewick": (("W-1", "W-2"), ("W-3", "W-4")), "mirrowmere": (("W-1", "W-2"),)}


def names_carried(story, slug, by, day) -> tuple[str, ...]:
    """Return which wrenches a mechanic of a place carries on a day."""
    mechanics = story.people[slug, "mechanic"]
    names = PAIRS[slug][mechanics.index(by) if by in mechanics else 0]
    is_lent = story.ago(LENT_AGO) <= day < story.ago(FAILED_AGO)
    return ("W-3", "W-5") if is_lent and "W-4" in names else names


def hang_up(site, by, at):
    """Put a site's wrenches on record."""
    for wrench in RACKS[site.slug]:
        acts.add_wrench(site, wrench.value(), by=by, at=at, id=wrench.id)


def plan(story):
    """Plan what the wrenches of both places go through."""
    for rack in RACKS.values():
        for wrench in rack:
            for ago, errors in wrench.certified.items():
                story.at_rack(wrench, ago, 6, _calibrate(wrench, errors))
            for ago in wrench.checked:
                story.at_rack(wrench, ago, 7, _check(wrench))
    for slug, name, ago, what, note in BEFELL:
        story.at_rack(_named(slug, name), ago, 7, _befall(what, note))
    _plan_failed_check(story)


def _named(slug, name):
    return next(wrench for wrench in RACKS[slug] if wrench.name == name)


def _calibrate(wrench, errors):
    def act(row, by, at):
        about = {"laboratory": LABORATORY, "tolerance": row.tolerance}
        about["number"] = f"QT-{at:%y%m%d}-{wrench.name[2:]}"
        points = [
            (*wrench.part_of_scale(share), Decimal(found), Decimal(left))
            for share, found, left in zip(SHARES, errors, AS_LEFT, strict=True)
        ]
        points = acts.certificate_points(points)
        acts.add_certificate(row, about, points, by=by, at=at, id=_id(wrench, "cal", at))

    return act


def _check(wrench, error=CHECK_ERROR, id=None):
    def act(row, by, at):
        typed, set_nm = wrench.part_of_scale("0.50")
        figure, unit = typed.split(" ")
        read = f"{Decimal(figure) * (1 + error):.1f} {unit}"
        about = {"tester": "bench tester", "tolerance": row.tolerance}
        about |= {"set_typed": typed, "set_nm": set_nm}
        about |= {"read_typed": read, "read_nm": _kept(measure(read, "torque").si)}
        fact_id = id or _id(wrench, "check", at)
        acts.add_quick_check(row, about, by=by, at=at, id=fact_id)

    return act


def _befall(what, note):
    def act(row, by, at):
        id = uuid5(row.pk, f"{what} {at:%Y%m%d}")
        acts.add_event(row, what, note=note, by=by, at=at, id=id)

    return act


def _kept(torque_nm):
    return torque_nm.quantize(Decimal("0.0001"))


def _id(wrench, what, at):
    return uuid5(wrench.id, f"{what} {at:%Y%m%d}")


def _plan_failed_check(story):
    """Plan a quick check that fails, and that every joint it spoilt is gone round the same day."""
    wrench = _named("brindlewick", "W-5")
    story.at_rack(wrench, FAILED_AGO, 7, _check(wrench, FAILED_ERROR, FAILED))

    def order(row, by, at):
        cut, manager = Cut(at, at), story.people[wrench.slug, "manager"][0]
        finding = finding_called(row, FAILED, cut)
        spoilt = spoilt_looks(row.site, looks_found_out(finding, cut), cut)
        looks = [one.found.look for one in spoilt if one.may_order]
        reason = "W-5 read 13 % low on the bench tester: all that it tightened since it was good."
        order_joint_looks(finding, looks, reason=reason, by=manager, at=at)
        _look_again(story, looks, by)

    story.at_rack(wrench, FAILED_AGO, 8, order)


def _look_again(story, looks, by):
    names = {}
    for look in looks:
        names.setdefault(look.fact.cart_id, set()).add(look.name)
    for cart_id, some in names.items():
        cart = story.cart_of(cart_id)
        call = Call(story.ago(FAILED_AGO), "look again")
        story.add_call(cart, call, 16, only=some, by=by, found=story.all_firm)
