"""The turns of the demo's story: what does not go as it should, and what people do then."""

from dataclasses import replace
from datetime import timedelta
from uuid import uuid5

from deploy.demo import answers
from deploy.demo.carts import SEED, rest
from deploy.demo.places import RESORT
from deploy.demo.visits import Call
from fleet.actions import meters, register, tags
from fleet.models import Tag
from lifts import actions as lift_actions
from lifts.models import Fitting
from shared.facts import record

LATE = ("104", "109", "122", "131")


def plan(story):
    """Plan every turn, before the carts' own visits are planned."""
    for turn in (
        _late,
        _stopped_and_moving,
        _on_stands,
        _half_gathered,
        _slack_and_tagged,
        _slack_and_handed_back,
        _label_missing,
        _no_paperwork,
        _number_reused,
        _meter_replaced,
        _laid_up_and_woken,
        _removed_and_refitted,
        _two_at_once,
        _reports,
        _wheel_off,
        _tag_on_plain,
    ):
        turn(story)


def _fit_anew(cart, day, until):
    cart.fitted_day = cart.big_tyres_day = day
    cart.visits_until = until


def _late(story):
    for number in LATE:
        cart = story.cart(number)
        _fit_anew(cart, story.ago(140 + int(number)), story.ago(41))


def _stopped_and_moving(story):
    day = story.ago(19)
    _fit_anew(story.cart("108"), day, day)


def _on_stands(story):
    day = story.ago(1)
    _fit_anew(story.cart("149"), day, story.ago(2))


def _half_gathered(story):
    """A close-out of which the road is still to be driven."""
    cart = story.cart("148")
    _fit_anew(cart, story.ago(1), story.ago(2))
    story.add_call(cart, Call(story.ago(1), "close-out, in the shop"), 14)


def _slack_at(name):
    def found_at(joint):
        if joint.name != name:
            return {}
        return {"found": "slack", "moved": "4", "right": False}

    return found_at


def _slack_and_tagged(story):
    cart = story.cart("112")
    _fit_anew(cart, story.ago(170), story.ago(4))
    call = Call(story.ago(2), "joints and grease")
    story.add_call(cart, call, 9, found=_slack_at("left U-bolts"))


def _slack_and_handed_back(story):
    cart = story.cart("118")
    _fit_anew(cart, story.ago(300), story.ago(1))
    by = story.people["brindlewick", "mechanic"][0]
    call = Call(story.ago(61), "joints and grease")
    story.add_call(cart, call, 9, found=_slack_at("right U-bolts"), by=by)
    for ago in (60, 55):
        story.add_call(cart, Call(story.ago(ago), "repeat"), 10, only={"u-bolts"}, by=by)

    def hand_back(row, at):
        tag = Tag.objects.filter(cart=row).latest("done_at")
        tags.hand_back(
            tag,
            done="New U-bolts and nuts on the right, torqued crosswise, driven, seen again.",
            repaired_by=by,
            drive_note="One mile, held straight, no knocks.",
            by=by,
            at=at,
        )

    story.act(cart, 60, 12, hand_back)


def _label_missing(story):
    cart = story.cart("125")
    _fit_anew(cart, story.ago(210), story.ago(9))
    parts = [answers.tyres(21), answers.label("gone")]
    story.add_call(cart, Call(story.ago(1), "grease"), 15, parts=parts)


def _no_paperwork(story):
    cart = story.cart("150")
    day = story.ago(34)
    _fit_anew(cart, None, None)
    cart.big_tyres_day = day

    def found(row, at):
        by = story.people["brindlewick", "manager"][0]
        lift_actions.fit(
            row,
            story.kit(cart),
            by=by,
            at=at,
            done_at=at - timedelta(days=1),
            paperwork="none",
            note="Came with the cart when it was bought. No sheet, no fitter named.",
            tyre_after="22x11-10",
            tyre_after_mm=answers.INCH_MM * 22,
        )
        due_by = {
            "short-check": day + timedelta(days=9),
            "baseline": story.today + timedelta(days=24),
        }
        start = register.start_up(row, due_by, by=by, unrecorded_before=day)
        record(start, at=at)

    story.act(cart, 34, 9, found)
    story.add_call(cart, Call(story.ago(27), "short"), 9)


def _number_reused(story):
    old = story.cart("160")
    old.left_day = story.ago(200)
    new = replace(old, key="160 again", left_day=None, joined_day=story.ago(180), hours=[])
    new.hours = [hours - old.hours[0] + 3 for hours in old.hours]
    new.values = {**old.values, "serial": "K77120934", "colour": "yellow", "model_year": 2026}

    def leave(row, at):
        by = story.people["brindlewick", "manager"][0]
        register.leave(row, by=by, at=at, reason="Sold at the yearly auction; plate destroyed")

    def join(at):
        by = story.people["brindlewick", "manager"][0]
        site = story.row(old).site
        plate = {"plate": uuid5(SEED, "160 again").hex[:20]}
        register.join_carts(site, {new.cart_id: {**new.values, **plate}}, by=by, at=at)
        row = story.row(new)
        meters.fit_meter(row, "hours", new.hours_shown(new.joined_day), unit="h", by=by, at=at)

    story.act(old, 200, 9, leave)
    story.add(story.at(RESORT, new.joined_day, 9), join)
    story.carts.append(new)


def _meter_replaced(story):
    cart = story.cart("130")
    cart.swapped_day = story.ago(120)

    def swap(row, at):
        by = story.people["brindlewick", "manager"][0]
        final = cart.hours_shown(cart.swapped_day)
        meters.fit_meter(row, "hours", 0, unit="h", by=by, at=at, old_final=final)

    story.act(cart, 120, 17, swap)


def _laid_up_and_woken(story):
    manager = story.people["brindlewick", "manager"][0]
    resting, woken = story.cart("140"), story.cart("141")
    _fit_anew(resting, story.ago(200), story.ago(31))
    rest(resting, story.ago(30), story.ago(-30))
    _fit_anew(woken, story.ago(260), story.ago(121))
    rest(woken, story.ago(120), story.ago(20))

    def lay_up(row, at):
        cart = story.cart(row.number)
        shown = story.shown(cart, cart.rests[0])
        meters.add_reading(row, by=manager, at=at, **shown)
        register.lay_up(row, by=manager, at=at, reason="Pier closed for the season")

    def wake(row, at):
        register.wake(row, by=manager, at=at)

    story.act(resting, 30, 17, lay_up)
    story.act(woken, 120, 17, lay_up)
    story.act(woken, 20, 8, wake)
    story.add_call(woken, Call(story.ago(20), "everything"), 9)
    story.add_call(woken, Call(story.ago(4), "camber and toe"), 9)
    story.add_call(woken, Call(story.ago(2), "grease"), 9)


def _removed_and_refitted(story):
    cart = story.cart("135")
    _fit_anew(cart, story.ago(280), story.ago(101))
    again = replace(cart, fitted_day=story.ago(44), visits_until=story.ago(1), kit_code="lark-3")

    def remove(row, at):
        fitting = Fitting.objects.filter(cart=row).latest("done_at")
        by = story.people["brindlewick", "mechanic"][1]
        lift_actions.remove_lift(fitting, "Moved to the plain pool for a season", by=by, at=at)

    story.act(cart, 100, 10, remove)
    story.plan_lift(again)


def _two_at_once(story):
    cart = story.cart("145")
    _fit_anew(cart, story.ago(190), story.ago(6))
    first, second = story.people["brindlewick", "mechanic"]
    one, other = Call(story.ago(3), "joints and grease"), Call(story.ago(3), "joints")
    story.add_call(cart, one, 9, by=first)

    def also(at):
        story.visit(cart, other, at, by=second, found=_took_up_at("front frame bolts"))

    story.add(story.at(cart.place, one.day, 9) + timedelta(minutes=4), also)


def _took_up_at(name):
    def found_at(joint):
        if joint.name != name:
            return {}
        return {"found": "took up", "moved": "2", "action": "relocked", "right": True}

    return found_at


def _reports(story):
    for number, noticed, note, days, hour in (
        ("111", "kerb hit", "Guest clipped the kerb by the pool gate, left front.", 1, 16),
        ("307", "noise", "Knocks in the rear over the speed hump.", 3, 11),
    ):
        cart = story.cart(number)

        def tell(row, at, cart=cart, noticed=noticed, note=note):
            by = story.people[cart.place.values["slug"], "desk"][0]
            tags.report(row, noticed, by=by, at=at, note=note)

        story.act(cart, days, hour, tell)


def _wheel_off(story):
    cart = story.cart("103")
    _fit_anew(cart, story.ago(230), story.ago(2))

    def off(row, at):
        by = story.people["brindlewick", "mechanic"][1]
        lift_actions.take_wheel_off(row, "left front", reason="Puncture mended", by=by, at=at)

    story.act(cart, 2, 16, off)


def _tag_on_plain(story):
    cart = story.cart("325")

    def tag(row, at):
        by = story.people["mirrowmere", "mechanic"][0]
        tags.tag_cart(row, "Pedal low after the hill", is_critical=True, by=by, at=at)

    story.act(cart, 1, 10, tag)
