"""Camber and toe of the demo: sheets as their form makes them, and what single carts tell."""

from functools import cache
from itertools import pairwise

from alignment.contradictions import BENT_RIM, contradictions
from alignment.judging import judge, judge_pass
from alignment.learning import learn
from alignment.learnt import learnt
from alignment.models import AlignmentSpec, CamberToeSheet
from alignment.odd import odd_readings
from alignment.order import slips
from alignment.parts import CamberToePart
from alignment.settled import use_since_fitting
from alignment.sheets import sheet_of
from alignment.specs import figures_at, kit_code_of
from deploy.demo import wheel_stories
from fleet.kinds import Cut
from fleet.models import Tag
from shared.models import Photo
from tests.deploy.demo.told import CUT, cart, resort

LEAST_TOE_IN_MM, MOST_TOE_IN_MM = 25.4 / 8, 25.4 / 4
EVERY_FORTIETH = slice(7, None, 40)


def all_sheets():
    return list(CamberToeSheet.objects.select_related("cart__site", "round").order_by("done_at"))


@cache
def _lines():
    return CamberToePart().lines_of(CamberToeSheet.objects.values_list("pk", flat=True))


def told(fact):
    return sheet_of(fact, _lines().get(fact.pk, []))


def last_of(number, **more):
    return CamberToeSheet.objects.filter(cart=cart(number), **more).latest("done_at")


def worst(fact):
    return judge(told(fact)).verdict


def test_each_place_told_the_figures_of_its_kits_before_the_first_fitting():
    specs = AlignmentSpec.objects.order_by("site__slug", "kit_code")

    assert [(spec.site.slug, spec.kit_code) for spec in specs] == [
        (slug, code)
        for slug in ("brindlewick", "mirrowmere")
        for code in ("harrow-4", "lark-3", "tamsin-5")
    ]
    own = specs.filter(site=resort())
    told = [(spec.rods, spec.rod_ends, spec.arm, spec.camber_adjusts) for spec in own]
    assert told == [
        ("two", "single", "ahead", "sleeve"),
        ("two", "double", "behind", "sleeve"),
        ("across", "single", "behind", "not"),
    ]
    assert {"edition 1, invented for the demo" in spec.source for spec in specs} == {True}
    first = CamberToeSheet.objects.earliest("done_at")
    assert max(spec.received_at for spec in specs) < first.done_at


def test_no_sheet_is_out_of_order_and_none_is_of_before_passes():
    found = [
        (fact.cart.number, slip)
        for fact in all_sheets()
        for slip in slips(told(fact), camber_adjusts=fact.camber_adjusts, passes=fact.passes)
    ]

    assert found == []


def test_most_sheets_end_inside_and_hardly_any_outside():
    verdicts = [worst(fact) for fact in all_sheets()]

    assert verdicts.count("inside") > 0.75 * len(verdicts)
    assert verdicts.count("can't tell") > 10
    assert verdicts.count("outside") == 4


def test_limits_spec_and_use_are_as_the_app_knew_them_that_day():
    for fact in all_sheets()[EVERY_FORTIETH]:
        cut = Cut(fact.round.opened_at, fact.round.opened_at)
        figures = figures_at(fact.cart.site, kit_code_of(fact.cart_id, cut), cut)
        use = use_since_fitting(fact.cart, cut)

        assert (fact.spec, fact.limits_from) == (figures.spec, figures.limits_from)
        assert (fact.use_hours, fact.is_settled) == (use.hours, use.is_settled)
        assert abs(fact.use_km - use.km) < 1


def test_turns_taught_what_each_kit_really_does():
    shares = {}
    for number in ("102", "128", "107"):
        kit_code = kit_code_of(cart(number).pk, CUT)
        steering = figures_at(cart(number).site, kit_code, CUT).steering
        seen = learnt(cart(number), kit_code, CUT, steering=steering)
        shares[number] = [learn(one) for one in (seen.rod_kit, seen.sleeve_kit)]

    for number, (rod, _) in shares.items():
        assert rod.count >= 3 and 0.7 < rod.share < 1, number
    assert 0.8 < shares["102"][1].share < 0.9
    assert shares["107"][1] is None


def test_a_right_wheel_leans_in_again_each_time_it_was_set():
    sheets = CamberToeSheet.objects.filter(cart=cart(wheel_stories.BENT)).order_by("done_at")
    read = [told(fact) for fact in sheets]

    falls = [
        judge_pass(after, 1).results["camber right"].value
        - judge(before).results["camber right"].value
        for before, after in pairwise(read)
    ]
    assert len([fall for fall in falls if fall < -0.5]) == len(wheel_stories.BENT_AGO) == 3
    assert len([fall for fall in falls if fall > 0.3]) == 0


def test_toe_out_was_tagged_put_right_and_handed_back():
    tag = Tag.objects.get(cart=cart(wheel_stories.TOE_OUT))

    assert tag.reason.startswith("toe-out: toe -")
    assert not cart(wheel_stories.TOE_OUT).is_tagged
    after = CamberToeSheet.objects.filter(cart=tag.cart, done_at__gt=tag.done_at)
    toe = judge(told(after.earliest("done_at"))).results["toe"]
    assert LEAST_TOE_IN_MM < toe.value < MOST_TOE_IN_MM


def test_what_is_outside_after_a_kerb_hit_is_tagged():
    fact = last_of(wheel_stories.KERB_HIT)

    assert fact.after_kerb_hit and worst(fact) == "outside"
    [tag] = Tag.objects.filter(cart=cart(wheel_stories.KERB_HIT))
    assert tag.is_critical and tag.reason.startswith("outside after a kerb hit")


def test_camber_that_cannot_be_turned_stays_outside_and_closes_nothing():
    fact = last_of(wheel_stories.NOT_ADJUSTABLE)
    outcome = CamberToePart().outcome(fact, _lines()[fact.pk])

    assert (fact.camber_adjusts, worst(fact)) == ("not", "outside")
    assert "camber-toe" not in outcome.pieces
    assert [hold.reason.split(":")[0] for hold in outcome.holds] == ["outside"]


def test_one_pass_of_a_coarse_tape_cannot_tell():
    for number in wheel_stories.CANNOT_TELL:
        fact = last_of(number)
        assert (fact.mark_typed, worst(fact)) == ("1/16 in", "can't tell")


def test_an_odd_reading_was_confirmed_with_a_photo():
    fact = CamberToeSheet.objects.get(confirmed=True)

    assert fact.cart.number == wheel_stories.ODD
    assert odd_readings(_lines()[fact.pk]) != []
    assert Photo.objects.get(shows="tape").about == fact.pk


def test_a_bent_rim_and_a_sloping_floor_are_told():
    bent = CamberToeSheet.objects.get(note__contains="half a turn")
    sloping = CamberToeSheet.objects.get(floor_level=False)

    assert [one.kind for one in contradictions(told(bent))] == [BENT_RIM]
    assert abs(judge_pass(told(bent), 1).results["camber left"].value) < 0.3
    assert sloping.floor_plates is True
    assert told(sloping).floor == (6.35, 914.4, "left")
