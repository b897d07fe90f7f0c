"""What the demo's people wrote late, struck, corrected or moved afterwards."""

from uuid import uuid5

from deploy.demo import answers
from deploy.demo.carts import SEED
from deploy.demo.visits import Call
from fleet.actions import corrections, countersigns, meters, project, tags
from fleet.models import Reading, Round, Tag
from shared.models import Entry

# cart, mechanic, and how many days ago it was done and written
WRITTEN_LATE = (
    ("106", 0, 9, 7),
    ("315", 0, 13, 10),
    ("132", 1, 30, 21),
    ("134", 1, 9, 1),
)


def plan(story):
    """Plan all of it, before the carts' own visits are planned."""
    for number, mechanic, done_ago, written_ago in WRITTEN_LATE:
        _write_late(story, number, mechanic, done_ago, written_ago)
    _countersign(story)
    _strike_reading(story)
    _estimate_reading(story)
    _move_round(story)
    _correct_camber(story)
    _correct_pressures(story)


def _person(story, cart, role, place=0):
    return story.people[cart.place.values["slug"], role][place]


def _round_of(story, cart, call):
    return Round.objects.get(pk=_round_id(cart, call))


def _round_id(cart, call):
    return uuid5(SEED, f"{cart.cart_id} {call.day} {call.work}")


def _write_late(story, number, mechanic, done_ago, written_ago):
    cart = story.cart(number)
    cart.visits_until = story.ago(done_ago + 1)
    call = Call(story.ago(done_ago), "grease")
    about = {
        "by": _person(story, cart, "mechanic", mechanic),
        "done_at": story.at(cart.place, call.day, 10),
        "identified": Round.Identified.LISTED,
        "note": "Written up from the paper sheet.",
    }
    story.act(cart, written_ago, 17, lambda row, at: story.visit(cart, call, at, **about))


def _countersign(story):
    cart, call = story.cart("132"), Call(story.ago(30), "grease")

    def sign(row, at):
        project.at_once([row.pk])  # whether a round waits is read off its row
        countersigns.countersign_round(
            _round_of(story, cart, call),
            reason="I hold the paper sheet of that day; the telephone was away for repair.",
            by=_person(story, cart, "manager"),
            at=at,
        )

    story.act(cart, 20, 9, sign)


def _strike_reading(story):
    cart = story.cart("144")
    reading_id = uuid5(SEED, f"mistyped {cart.cart_id}")
    by = _person(story, cart, "mechanic")

    def mistype(row, at):
        hours = cart.hours_shown(story.ago(10)) + 900
        meters.add_reading(row, by=by, at=at, id=reading_id, hours=hours)

    def strike(row, at):
        entry = Entry.objects.get(fact_id=reading_id)
        reason = "A digit mistyped: the meter shows 900 hours less."
        corrections.strike_entry(row, entry, reason=reason, by=by, at=at)

    story.act(cart, 10, 12, mistype)
    story.act(cart, 10, 14, strike)


def _estimate_reading(story):
    cart = story.cart("156")

    def estimate(row, at):
        by = _person(story, cart, "mechanic")
        shown = story.shown(cart, story.ago(16))
        meters.add_reading(row, by=by, at=at, source=Reading.Source.ESTIMATED, **shown)

    story.act(cart, 16, 11, estimate)


def _move_round(story):
    cart, wrong = story.cart("110"), story.cart("116")
    cart.visits_until = story.ago(19)
    call = Call(story.ago(18), "joints and grease")
    by = _person(story, cart, "mechanic", 1)

    def move(row, at):
        reason = "Written on 116, which stood beside it: the plate read was that of 110."
        of_wrong = _round_of(story, cart, call)
        corrections.move_round(of_wrong, row, reason=reason, by=by, at=at)
        story.memory.forget(cart.cart_id, wrong.cart_id)

    story.add_call(cart, call, 9, found=story.all_firm, by=by, on=wrong)
    story.act(cart, 17, 8, move)


def _told_again(story, cart, call, parts, why, *, by, at):
    """Correct the round of a call, all of it told again with these parts."""
    row = _round_of(story, cart, call)
    told = {"id": uuid5(row.pk, "corrected"), "corrects": row.pk, "why_corrected": why}
    visit = story.attending(cart, row.cart, call, at, by, row.pk)
    parts = [one.ready(visit) for one in parts]
    visit = story.taken_down(cart, call, at, parts, **told)
    corrections.correct_round(row, visit, by=by, at=at)
    story.memory.forget(cart.cart_id)


def _correct_camber(story):
    """Camber noted outside, the cart tagged for it, then told again as inside."""
    cart = story.cart("143")
    cart.visits_until = story.ago(13)
    call = Call(story.ago(12), "grease", ("camber-toe",))
    by = _person(story, cart, "mechanic")
    tag_id = uuid5(SEED, f"camber {cart.cart_id}")

    def parts(camber_deg):
        _, points = story.parts_of_kit(cart)
        sheet = story.alignments.typed(cart, call.day, camber_deg, ("36 in", "36 3/16 in"))
        return [answers.grease(points, 3), answers.tyres(21), answers.label(), sheet]

    def tag(row, at):
        reason = "Camber outside on both sides: not out before it is set"
        tags.tag_cart(row, reason, id=tag_id, by=by, at=at)

    def correct(row, at):
        why = "Read off the wrong ring of the gauge: 0.1 degrees, not 1.1."
        _told_again(story, cart, call, parts("0.1"), why, by=by, at=at)

    def hand_back(row, at):
        tags.hand_back(
            Tag.objects.get(pk=tag_id),
            done="Nothing turned: gauge read again by two, camber inside on both sides.",
            repaired_by=by,
            drive_note="Half a mile, held straight.",
            by=_person(story, cart, "manager"),
            at=at,
        )

    visit = {"by": by, "note": "Yard level checked."}
    at = story.at(cart.place, call.day, 9)
    story.add(at, lambda at: story.visit(cart, call, at, parts=parts("1.1"), **visit))
    story.act(cart, 12, 10, tag)
    story.act(cart, 11, 8, correct)
    story.act(cart, 11, 11, hand_back)


def _correct_pressures(story):
    cart = story.cart("136")
    cart.visits_until = story.ago(17)
    call = Call(story.ago(16), "grease")
    by = _person(story, cart, "mechanic", 1)

    def parts(pressure_psi):
        _, points = story.parts_of_kit(cart)
        return [answers.grease(points, 3), answers.tyres(pressure_psi), answers.label()]

    def correct(row, at):
        why = "Digits changed places: 21 psi, not 12."
        _told_again(story, cart, call, parts(21), why, by=by, at=at)

    at = story.at(cart.place, call.day, 13)
    story.add(at, lambda at: story.visit(cart, call, at, parts=parts(12), by=by))
    story.act(cart, 15, 8, correct)
