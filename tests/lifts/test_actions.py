"""Kits, fittings, removals and wheels off, on the database."""

from datetime import timedelta
from decimal import Decimal

import pytest

from fleet.kinds import Cut
from fleet.models import Recheck
from lifts import actions
from lifts.actions import add_kit, fit, remove_lift, replace_kit, take_wheel_off
from lifts.models import Fitting, Kit, WheelOff
from lifts.source import LiftSource
from lifts.visit_kit import fitting_on, kit_of
from shared.facts import OtherBody, correction_of, record, strike
from shared.models import Change, new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site, kit_value

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


@pytest.fixture
def place():
    return a_site()


@pytest.fixture
def site(place):
    return place[0]


@pytest.fixture
def manager(place):
    return place[1]


@pytest.fixture
def kit(site, manager):
    return a_kit(site, manager)


@pytest.fixture
def cart(site, manager):
    return a_cart(site, manager)


def at(days):
    return MORNING + days * DAY


def cut(days):
    return Cut(at(days), at(days))


def chapters(cart, days=400):
    return list(LiftSource().chapters([cart.pk], cut(days)))


def kinds_of(cart):
    return sorted(cart.rechecks.active().values_list("kind_code", "subject"))


def test_add_kit_files_one_change_and_its_rows(site, manager):
    kit = add_kit(site, kit_value(), by=manager, at=MORNING)

    change = Change.objects.get(pk=kit.pk)
    assert (change.what, change.value["code"]) == ("kit", "trial-kit")
    assert [joint.name for joint in kit.joints.order_by("place")][:2] == [
        "left front lugs",
        "left tie-rod end",
    ]
    assert kit.joints.get(name="left front lugs").target_nm == Decimal(80)
    assert kit.grease_points.count() == 3
    assert kit.from_at == MORNING


def test_add_kit_sent_twice_is_one_kit(site, manager):
    act = new_id()

    first = add_kit(site, kit_value(), by=manager, at=MORNING, id=act)
    again = add_kit(site, kit_value(), by=manager, at=at(1), id=act)

    assert (first, Kit.objects.count()) == (again, 1)


def test_add_kit_refuses_a_code_in_use(site, manager, kit):
    with pytest.raises(actions.KitKnown):
        a_kit(site, manager)


def test_another_site_may_use_the_same_code(kit):
    other, its_manager = a_site("hills")

    assert a_kit(other, its_manager).code == kit.code


def test_replace_kit_leaves_the_old_edition_and_its_joints(manager, kit):
    new = replace_kit(kit, kit_value(edition="edition 2"), by=manager, at=at(10))

    kit.refresh_from_db()
    assert (kit.edition, kit.replaced_at) == ("edition 1", at(10))
    assert (new.edition, new.replaced_at) == ("edition 2", None)
    assert kit.joints.count() == new.joints.count() == 8


def test_replace_kit_twice_by_one_page_is_one_edition(manager, kit):
    act, value = new_id(), kit_value(edition="edition 2")

    first = replace_kit(kit, value, by=manager, at=at(10), id=act)
    again = replace_kit(kit, value, by=manager, at=at(11), id=act)

    assert (first, Kit.objects.count()) == (again, 2)


def test_replace_kit_refuses_an_edition_that_was_replaced(manager, kit):
    replace_kit(kit, kit_value(edition="edition 2"), by=manager, at=at(10))

    with pytest.raises(actions.KitReplaced):
        replace_kit(kit, kit_value(edition="edition 3"), by=manager, at=at(11))


def test_kit_of_is_the_edition_in_force_then(manager, cart, kit):
    fit(cart, kit, by=manager, at=at(1))
    new = replace_kit(kit, kit_value(edition="edition 2"), by=manager, at=at(10))

    assert kit_of(cart, cut(5)) == kit
    assert kit_of(cart, cut(15)) == new


def test_fit_puts_the_cart_on_stands_and_calls_for_the_close_out(manager, cart, kit):
    fitting = fit(cart, kit, by=manager, at=at(1), fitted_by="J. Poole")

    cart.refresh_from_db()
    assert (cart.is_lifted, cart.condition, cart.is_unproven) == (True, "on stands", False)
    assert kinds_of(cart) == [("fitting-close-out", "")]
    assert fitting_on(cart, cut(2)) == fitting


def test_fit_sent_twice_is_one_fitting(manager, cart, kit):
    act = new_id()

    first = fit(cart, kit, by=manager, at=at(1), id=act, firm="Own shop")
    again = fit(cart, kit, by=manager, at=at(2), id=act, firm="Own shop")

    assert (first.pk, first.done_at) == (again.pk, again.done_at)
    assert Fitting.objects.count() == 1


def test_fit_with_a_known_id_and_other_content_is_refused(manager, cart, kit):
    act = new_id()
    fit(cart, kit, by=manager, at=at(1), id=act, firm="Own shop")

    with pytest.raises(OtherBody):
        fit(cart, kit, by=manager, at=at(1), id=act, firm="Another shop")


def test_fit_without_paperwork_leaves_the_cart_unproven(manager, cart, kit):
    fit(cart, kit, by=manager, at=at(1), paperwork="none")

    cart.refresh_from_db()
    assert cart.is_unproven
    assert [chapter.is_unproven for chapter in chapters(cart)] == [True]


def test_fit_with_other_tyres_changes_the_carts_tyre_size(manager, cart, kit):
    fit(cart, kit, by=manager, at=at(1), tyre_after="22x11-10", tyre_after_mm=Decimal("545.5"))

    cart.refresh_from_db()
    assert (cart.tyre, cart.tyre_mm) == ("22x11-10", Decimal("545.500"))
    assert Change.objects.filter(cart_id=cart.pk, what="tyre size").count() == 1


def test_fit_with_the_tyres_it_has_records_no_change(site, manager, kit):
    cart = a_cart(site, manager, tyre="18x8.5-8")

    fit(cart, kit, by=manager, at=at(1), tyre_after="18x8.5-8")

    assert not Change.objects.filter(what="tyre size").exists()


@pytest.mark.parametrize(
    ("code", "measured", "told"),
    [
        ("205/50-10", None, Decimal("459")),  # 25.4 * 10 + 2 * 205 * 0.50
        ("20x10-10", None, Decimal("508")),
        ("20x10-10", Decimal("501.5"), Decimal("501.5")),
        ("4.80-8", None, None),
        ("nothing to read", None, None),
        ("18x8.5-8", Decimal("470"), Decimal("470")),  # the code that was on before
    ],
)
def test_a_fitting_tells_the_diameter_measured_or_else_marked(
    site, manager, kit, code, measured, told
):
    cart = a_cart(site, manager, tyre="18x8.5-8", tyre_mm="457.2")

    fit(cart, kit, by=manager, at=at(1), tyre_after=code, tyre_after_mm=measured)

    cart.refresh_from_db()
    assert (cart.tyre, cart.tyre_mm) == (code, told)
    whence = {"diameter_from": "the marked size"} if told and not measured else {}
    value = Change.objects.get(what="tyre size").value
    assert whence == {key: said for key, said in value.items() if key == "diameter_from"}


def test_fit_refuses_a_kit_of_another_site(manager, cart):
    other, its_manager = a_site("hills")

    with pytest.raises(actions.WrongSite):
        fit(cart, a_kit(other, its_manager), by=manager, at=at(1))


def test_remove_lift_ends_the_chapter_and_its_rechecks(manager, cart, kit):
    fitting = fit(cart, kit, by=manager, at=at(1))

    removal = remove_lift(fitting, "sold back", by=manager, at=at(5))

    cart.refresh_from_db()
    [chapter] = chapters(cart)
    assert (chapter.until_at, chapter.ended_by) == (at(5), removal.pk)
    assert (cart.is_lifted, kinds_of(cart)) == (False, [])
    assert (kit_of(cart, cut(6)), kit_of(cart, cut(2))) == (None, kit)


def test_remove_lift_twice_is_refused(manager, cart, kit):
    fitting = fit(cart, kit, by=manager, at=at(1))
    remove_lift(fitting, "sold back", by=manager, at=at(5))

    with pytest.raises(actions.NotOnCart):
        remove_lift(fitting, "sold back", by=manager, at=at(6))


def test_remove_lift_sent_twice_by_one_page_is_one_removal(manager, cart, kit):
    act, fitting = new_id(), fit(cart, kit, by=manager, at=at(1))

    first = remove_lift(fitting, "sold back", by=manager, at=at(5), id=act)
    again = remove_lift(fitting, "sold back", by=manager, at=at(6), id=act)

    assert (first.pk, first.done_at) == (again.pk, again.done_at)


def test_remove_lift_refuses_a_lift_that_another_replaced(manager, cart, kit):
    fitting = fit(cart, kit, by=manager, at=at(1))
    fit(cart, kit, by=manager, at=at(5))

    with pytest.raises(actions.NotOnCart):
        remove_lift(fitting, "sold back", by=manager, at=at(6))


def test_another_fitting_ends_the_chapter_before(manager, cart, kit):
    first = fit(cart, kit, by=manager, at=at(1))
    second = fit(cart, kit, by=manager, at=at(5))

    spans = [(c.fitting_id, c.until_at, c.ended_by) for c in chapters(cart)]

    assert spans == [(first.pk, at(5), second.pk), (second.pk, None, None)]
    assert fitting_on(cart, cut(6)) == second


def test_a_removal_at_the_moment_of_its_fitting_ends_it(manager, cart, kit):
    fitting = fit(cart, kit, by=manager, at=at(1))
    remove_lift(fitting, "wrong kit", by=manager, at=at(2), done_at=at(1))

    assert [chapter.until_at for chapter in chapters(cart)] == [at(1)]
    assert kit_of(cart, cut(3)) is None


def test_a_removal_ends_its_fitting_though_that_was_corrected_since(manager, cart, kit):
    fitting = fit(cart, kit, by=manager, at=at(1))
    remove_lift(fitting, "sold back", by=manager, at=at(5))
    record(correction_of(fitting, reason="name", by=manager, fitted_by="J. Poole"), at=at(6))

    assert [chapter.until_at for chapter in chapters(cart)] == [at(5)]
    assert kit_of(cart, cut(7)) is None


def test_a_lift_fitted_after_a_removal_is_on_the_cart(manager, cart, kit):
    first = fit(cart, kit, by=manager, at=at(1))
    remove_lift(first, "sold back", by=manager, at=at(5))
    second = fit(cart, kit, by=manager, at=at(9))

    assert [(c.fitting_id, c.until_at) for c in chapters(cart)] == [
        (first.pk, at(5)),
        (second.pk, None),
    ]
    assert fitting_on(cart, cut(10)) == second
    assert kit_of(cart, cut(10)) == kit


def test_a_struck_removal_leaves_the_lift_on(manager, cart, kit):
    fitting = fit(cart, kit, by=manager, at=at(1))
    removal = remove_lift(fitting, "wrong cart", by=manager, at=at(5))
    strike(removal, reason="wrong cart", by=manager, at=at(6))

    assert chapters(cart)[0].until_at is None
    assert kit_of(cart, cut(7)) == kit
    assert kit_of(cart, cut(5)) is None


def test_take_wheel_off_starts_that_wheels_clock_alone(manager, cart, kit):
    fit(cart, kit, by=manager, at=at(1))

    take_wheel_off(cart, "left front", by=manager, at=at(2), reason="puncture")

    due = Recheck.objects.filter(kind_code="wheel-lugs")
    assert [(recheck.subject, recheck.due_on) for recheck in due] == [("left front", at(3).date())]


def test_take_wheel_off_sent_twice_is_one(manager, cart, kit):
    fit(cart, kit, by=manager, at=at(1))
    act = new_id()

    for day in (2, 3):
        take_wheel_off(cart, "left front", by=manager, at=at(day), id=act)

    assert WheelOff.objects.count() == 1
    assert Recheck.objects.filter(kind_code="wheel-lugs").count() == 1
