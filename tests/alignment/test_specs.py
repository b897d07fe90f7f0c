from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from alignment.advice import Rod, Sleeve, Steering
from alignment.readings import Limits
from alignment.specs import figures_at, figures_of, kit_code_of, kit_codes_of, specs_at
from fleet.kinds import Cut
from fleet.standing import EVERYTHING
from lifts.actions import fit, remove_lift
from shared.facts import strike
from tests.alignment_factories import mm
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site
from tests.spec_factories import LIMITS, ROD, SLEEVE, a_spec

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
SITE_WIDE = {"kit_code": "", "source": "shop rule 4"}
NOTHING = dict.fromkeys(LIMITS)


@pytest.fixture
def yard():
    return a_site()


def limits(**changes):
    told = {name: float(value) for name, value in LIMITS.items()}
    return Limits(**told | {name: float(value) for name, value in changes.items()})


def test_without_figures_told_the_usual_limits_hold_without_a_source(yard):
    found = figures_at(yard[0], "hx-4", EVERYTHING)

    assert found.limits == Limits()
    assert found.limits_from == "common practice, no source"
    assert (found.steering, found.camber_adjusts, found.spec) == (Steering(), "", None)


def test_what_is_told_of_a_kit_holds_for_that_kit_alone(yard):
    site, manager = yard
    spec = a_spec(site, manager, MORNING, toe_high_mm=mm("3/16"))

    found, other = (figures_at(site, code, EVERYTHING) for code in ("hx-4", "trail-6"))

    assert found.limits == limits(toe_high_mm=mm("3/16"))
    assert (found.limits_from, found.spec) == ("HX-4 sheet, edition B", spec.pk)
    assert (other.limits, other.spec) == (Limits(), None)


@pytest.mark.parametrize("kit_code", ["", "trail-6"])
def test_what_is_told_of_the_site_holds_for_carts_with_no_sheet_of_their_own(yard, kit_code):
    site, manager = yard
    spec = a_spec(site, manager, MORNING, camber_high_deg=Decimal("0.25"), **SITE_WIDE)

    found = figures_at(site, kit_code, EVERYTHING)

    assert found.limits.camber_high_deg == 0.25
    assert (found.limits_from, found.spec) == ("site’s own: shop rule 4", spec.pk)


def test_the_last_that_was_told_stands_whole(yard):
    site, manager = yard
    a_spec(site, manager, MORNING, **ROD)
    last = a_spec(site, manager, MORNING + HOUR, **NOTHING)

    found = figures_at(site, "hx-4", EVERYTHING)

    assert found.spec == last.pk
    assert (found.limits, found.steering) == (Limits(), Steering())


def test_figures_of_the_past_are_those_known_then_and_a_struck_one_counts_no_more(yard):
    site, manager = yard
    first = a_spec(site, manager, MORNING)
    second = a_spec(site, manager, MORNING + HOUR)
    strike(second, reason="Another kit’s sheet", by=manager, at=MORNING + 2 * HOUR)

    moments = [MORNING + HOUR * hours for hours in (-1, 0, 1, 2)]
    found = [figures_at(site, "hx-4", Cut(at, at)).spec for at in moments]

    assert found == [None, first.pk, second.pk, first.pk]


def test_another_sites_figures_say_nothing_here(yard):
    site, _manager = yard
    a_spec(*a_site("osprey"), MORNING)

    assert specs_at(site, EVERYTHING) == {}


def test_of_the_kits_and_the_sites_limits_the_stricter_counts_each_for_itself(yard):
    site, manager = yard
    a_spec(site, manager, MORNING, side_to_side_deg=Decimal("0.4"), toe_low_mm=mm("5/32"))
    a_spec(
        site,
        manager,
        MORNING,
        camber_low_deg=Decimal("-0.25"),
        camber_high_deg=Decimal(1),
        toe_high_mm=mm("7/32"),
        **SITE_WIDE,
    )

    found = figures_at(site, "hx-4", EVERYTHING)

    assert found.limits == limits(
        camber_low_deg="-0.25",
        side_to_side_deg="0.4",
        toe_low_mm=mm("5/32"),
        toe_high_mm=mm("7/32"),
    )
    both = "HX-4 sheet, edition B; stricter: site’s own: shop rule 4"
    assert found.limits_from == f"camber: {both}; side to side: HX-4 sheet, edition B; toe: {both}"


def test_a_looser_site_rule_changes_nothing_of_a_makers(yard):
    site, manager = yard
    a_spec(site, manager, MORNING)
    wider = {"camber_low_deg": -2, "camber_high_deg": 2, "side_to_side_deg": 2}
    a_spec(site, manager, MORNING, toe_low_mm=0, toe_high_mm=20, **wider, **SITE_WIDE)

    found = figures_at(site, "hx-4", EVERYTHING)

    assert (found.limits, found.limits_from) == (limits(), "HX-4 sheet, edition B")


@pytest.mark.parametrize("low", ["1/4", "3/8"])
def test_a_site_rule_that_the_maker_leaves_no_room_for_counts_for_nothing(yard, low):
    site, manager = yard
    a_spec(site, manager, MORNING)
    a_spec(site, manager, MORNING, toe_low_mm=mm(low), toe_high_mm=mm("1/2"), **SITE_WIDE)

    assert figures_at(site, "hx-4", EVERYTHING).limits == limits()


def test_a_limit_that_the_kits_sheet_leaves_open_is_the_sites_and_else_the_usual_one(yard):
    site, manager = yard
    a_spec(site, manager, MORNING, **NOTHING | {"side_to_side_deg": Decimal("0.3")})
    own = {"camber_low_deg": Decimal("-0.2"), "camber_high_deg": Decimal("0.2")}
    a_spec(site, manager, MORNING, **NOTHING | own, **SITE_WIDE)

    found = figures_at(site, "hx-4", EVERYTHING)

    assert found.limits == limits(side_to_side_deg="0.3", **own)
    assert found.limits_from == (
        "camber: site’s own: shop rule 4; side to side: HX-4 sheet, edition B; "
        "toe: common practice, no source"
    )


def test_where_the_limits_are_from_fits_its_column(yard):
    site, manager = yard
    a_spec(site, manager, MORNING, source="x" * 200, toe_low_mm=None)

    assert len(figures_at(site, "hx-4", EVERYTHING).limits_from) == 200


def test_rod_and_sleeve_are_those_of_the_kit(yard):
    site, manager = yard
    a_spec(site, manager, MORNING, **ROD, **SLEEVE)

    found = figures_at(site, "hx-4", EVERYTHING)

    rod = Rod(1.25, is_double=False, arm_mm=114.3, is_ahead=True, right_hand="wheel")
    sleeve = Sleeve(pitch_mm=1.25, is_double=True, knuckle_mm=139.7)
    assert found.steering == Steering(rod, sleeve, 44.45)
    assert found.camber_adjusts == "sleeve"


@pytest.mark.parametrize(
    ("ends", "told", "right_hand"),
    [
        ("single", None, "wheel"),
        ("single", "middle", "middle"),
        ("double", None, ""),
        ("double", "wheel", "wheel"),
        ("double", "middle", "middle"),
    ],
)
def test_the_end_with_the_right_hand_thread_of_two_is_told_or_not_known(
    yard, ends, told, right_hand
):
    site, manager = yard
    rod = ROD | {"rod_ends": ends, "rod_right_hand": told}
    a_spec(
        site, manager, MORNING, **rod, **SLEEVE | {"sleeve_ends": ends, "sleeve_right_hand": told}
    )

    steering = figures_at(site, "hx-4", EVERYTHING).steering

    assert (steering.rod.right_hand, steering.sleeve.right_hand) == (right_hand, right_hand)


def test_a_rod_across_and_an_arm_behind_the_axle_are_told_apart(yard):
    site, manager = yard
    across = {"rods": "across", "arm": "behind", "rod_ends": "double"}
    a_spec(site, manager, MORNING, **ROD | across)

    rod = figures_at(site, "hx-4", EVERYTHING).steering.rod

    assert (rod.is_across, rod.is_ahead, rod.is_double) == (True, False, True)


def test_what_the_kits_sheet_leaves_open_of_rod_or_sleeve_is_the_sites(yard):
    site, manager = yard
    a_spec(site, manager, MORNING, camber_adjusts="not")
    a_spec(site, manager, MORNING, **ROD, **SLEEVE, **SITE_WIDE)

    found = figures_at(site, "hx-4", EVERYTHING)

    assert found.steering.rod.arm_mm == 114.3
    assert (found.camber_adjusts, found.steering.sleeve) == ("not", None)


def test_a_rod_without_all_its_figures_is_none(yard):
    site, manager = yard
    a_spec(site, manager, MORNING, **ROD | {"arm_mm": None})

    assert figures_at(site, "hx-4", EVERYTHING).steering.rod is None


def test_the_database_refuses_toe_out(yard):
    with pytest.raises(IntegrityError, match="spec_never_toe_out"), transaction.atomic():
        a_spec(*yard, MORNING, toe_low_mm=Decimal("-0.1"))


@pytest.mark.parametrize("kits", [1, 3])
def test_figures_cost_one_query_however_many_kits(yard, kits, django_assert_num_queries):
    site, manager = yard
    codes = [f"kit-{number}" for number in range(kits)]
    for code in ("", *codes):
        a_spec(site, manager, MORNING, kit_code=code)

    with django_assert_num_queries(1):
        figures_at(site, codes[0], EVERYTHING)
    with django_assert_num_queries(1):
        specs = specs_at(site, EVERYTHING)
        found = [figures_of(specs, code).spec for code in codes]

    assert found == [specs[code].pk for code in codes]


def test_a_carts_kit_is_the_one_on_it_at_the_time(yard):
    site, manager = yard
    cart, plain = a_cart(site, manager, "7"), a_cart(site, manager, "8")
    first, second = (a_kit(site, manager, code=code) for code in ("hx-4", "trail-6"))
    fit(cart, first, by=manager, at=MORNING)
    fitting = fit(cart, second, by=manager, at=MORNING + HOUR)
    remove_lift(fitting, "Sold", by=manager, at=MORNING + 2 * HOUR)

    at = [MORNING + HOUR * hours for hours in (0, 1, 2)]

    assert [kit_code_of(cart.pk, Cut(one, one)) for one in at] == ["hx-4", "trail-6", ""]
    assert kit_codes_of([cart.pk, plain.pk], Cut(at[1], at[1])) == {cart.pk: "trail-6"}
