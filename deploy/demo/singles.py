"""Single carts of the demo at which a speed, tyres, grease or a joint tells something."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid5

from deploy.demo import answers
from deploy.demo.answers import measure
from deploy.demo.carts import SEED
from deploy.demo.visits import Call
from fleet.actions import register
from lifts.actions import extra_joints
from lifts.actions.speed_classes import set_usual
from lifts.actions.stability import add_stability, steps_of
from lifts.kit_lines import read_joint

USUAL_CLASS = "personal-transport-vehicle"
# marked length, seconds there and back
OVER, CANT_TELL, BOUNDARY = "115", "123", "124"
RUNS = {
    OVER: ("400 ft", "12.9", "13.1"),
    CANT_TELL: ("440 ft", "14.6", "15.0"),
    BOUNDARY: ("5280 ft", "180.4", "180.7"),
}
TYRES_LATER, TYRES_AGO, WEIGHED_AGO = "121", 1, 60
BEFORE_TYRES = ("440 ft", "17.6", "17.7")  # 17.0 mph
PURGED, PURGED_AGO, BLOCKED = "113", 40, "114"
TAKEN_UP, WAITING = "101", "105"
TOW_EYE = {
    "name": "tow eye bolts",
    "family": "other-joints",
    "wheel": "",
    "count": 2,
    "thread": "M10",
    "note": "Holds the tow eye to the front cross member; not on the kit's list.",
}
TOW_EYE_LINE = {
    "joint": "tow eye bolts",
    "family": "other-joints",
    "count": "2",
    "thread": "M10",
    "grade": "class 8.8",
    "grip": "20 mm",
    "K": "0.20",
    "target": "38 N.m",
    "source": "invented for the demo",
}
CROSS_BAR = {
    "name": "rear seat brace bolts",
    "family": "other-joints",
    "wheel": "",
    "count": 4,
    "thread": "5/16-18, as far as it can be told",
    "note": "A brace from the rear seat to the lift's rear plate.",
}
WEIGHED = {
    "mass": ("1050 lb", "mass"),
    "track": ("39 in", "length"),
    "wheelbase": ("66 in", "length"),
    "hub_height": ("9 in", "length"),
    "people": ("340 lb", "mass"),
    "seated": ("42 in", "length"),
}
AXLE_LIFTS = (("10 in", "36 lb"), ("16 in", "60 lb"), ("22 in", "84 lb"))


PLAIN_STOPS = {"inch": ("12.5 ft", "12 ft"), "metric": ("3.8 m", "3.7 m")}


def hold_to_class(site, by, at):
    """Hold a site's carts to one class; at the resort, one over it is tagged."""
    reason = "All carts are hired out as this class."
    tags_over = site.slug == "brindlewick"
    set_usual(site, USUAL_CLASS, tags_over, reason=reason, by=by, at=at)


def plan(story):
    """Plan all of it, before the carts' own visits are planned."""
    for number, run in RUNS.items():
        cart = story.cart(number)
        cart.visits_until = story.ago(9)
        story.add_call(cart, Call(story.ago(8), "speed"), 15, parts=[answers.speed(*run)])
    _put_tyres_on(story)
    _purge(story)
    _find_blocked(story)
    _see_joints(story)
    _time_plain_carts(story)


def _put_tyres_on(story):
    """Bigger tyres on a cart that was lifted and timed on its small ones."""
    cart = story.cart(TYRES_LATER)
    cart.big_tyres_day, cart.visits_until = story.ago(TYRES_AGO), story.ago(TYRES_AGO + 1)
    mechanic = story.people["brindlewick", "mechanic"][0]

    def weigh(row, at):
        figures = {name: measure(*said) for name, said in WEIGHED.items()}
        values = {f"{name}_typed": one.typed for name, one in figures.items()}
        masses = {"mass", "people"}
        values |= {f"{n}_{'kg' if n in masses else 'mm'}": m.si for n, m in figures.items()}
        steps = steps_of([(measure(a, "length"), measure(b, "mass")) for a, b in AXLE_LIFTS])
        values |= {"is_lifted": True, "note": "Rear axle raised; two seated in front."}
        add_stability(row, steps, by=mechanic, at=at, id=uuid5(row.pk, "weighed"), **values)

    def change(row, at):
        value = {"tyre": "22x11-10", "tyre_mm": "558.8", "measured": "22 in"}
        register.change_cart(
            row, "tyre size", value, reason="", by=mechanic, at=at, id=uuid5(row.pk, "22 in")
        )

    story.act(cart, WEIGHED_AGO, 16, weigh)
    story.act(cart, TYRES_AGO, 11, change)


def _purge(story):
    """Another thickener, with clean grease seen at every point."""
    cart = story.cart(PURGED)
    _, points = story.parts_of_kit(cart)
    grease = answers.grease(points, 12, lubricant=answers.POLYUREA)
    story.add_call(cart, Call(story.ago(PURGED_AGO), "purge"), 7, parts=[grease, answers.label()])


def lubricant(story, cart, day):
    is_other = cart.number == PURGED and day >= story.ago(PURGED_AGO)
    return answers.POLYUREA if is_other else answers.LITHIUM


def _find_blocked(story):
    """A fitting that takes no grease, renewed and greased three days later."""
    cart = story.cart(BLOCKED)
    _, points = story.parts_of_kit(cart)
    name = points[0].name
    found = [answers.grease(points, 3, blocked=(name,)), answers.tyres(21), answers.label()]
    story.add_call(cart, Call(story.ago(20), "grease"), 10, parts=found)
    again = answers.grease(points, 3, alone=(name,))
    note = {"note": f"{name}: new fitting screwed in, takes grease."}
    story.add_call(cart, Call(story.ago(17), "point"), 10, parts=[again], **note)


def _see_joints(story):
    """Two joints that no list has: one taken up by the manager, one that waits for her."""
    mechanic = story.people["brindlewick", "mechanic"][1]
    manager = story.people["brindlewick", "manager"][0]
    seen_id = uuid5(SEED, "tow eye bolts")

    def see(row, at):
        extra_joints.see_joint(row, TOW_EYE, by=mechanic, at=at, id=seen_id)

    def take_up(row, at):
        seen = extra_joints.JointSeen.objects.select_related("cart__site").get(pk=seen_id)
        value = read_joint(TOW_EYE_LINE, "N.m", "mm") | {"above_proof": ""}
        id = uuid5(seen_id, "taken up")
        extra_joints.take_up_joint(seen, value, by=manager, at=at, reason="Bears load.", id=id)
        story.extended.add(row.pk)

    def see_other(row, at):
        id = uuid5(SEED, "rear seat brace bolts")
        extra_joints.see_joint(row, CROSS_BAR, by=mechanic, at=at, id=id)

    story.act(story.cart(TAKEN_UP), 100, 12, see)
    story.act(story.cart(TAKEN_UP), 99, 9, take_up)
    story.act(story.cart(WAITING), 4, 12, see_other)


def timed(story, cart, day):
    """Return the marked length and times of a usual speed run at a cart on a day."""
    if cart.number == TYRES_LATER and day < cart.big_tyres_day:
        return BEFORE_TYRES
    there = Decimal(story.random.choice(("14.3", "14.6", "15.0")))
    length = "400 ft" if cart.place.values["units"] == "inch" else "120 m"
    return length, there, there + Decimal("0.3")


def _time_plain_carts(story):
    """Stop runs of plain carts, against which the lifted ones' are held."""
    for number in ("152", "155", "158", "322", "328"):
        cart = story.cart(number)
        units = cart.place.values["units"]
        part = answers.brake(stop_runs=True, units=units, stops=PLAIN_STOPS[units])
        day = cart.start + timedelta(days=4)
        story.add_call(cart, Call(day, "stop runs"), 10, parts=[part])
