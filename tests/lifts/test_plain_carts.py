"""Carts without a lift: their lugs, told by the sheet for plain carts, and their speed."""

import pytest
from django.urls import reverse

from fleet.actions.register import change_tyres
from fleet.actions.rounds import TakenDown, save_round
from fleet.desk import morning_list
from fleet.fitted import BeforeFitting
from fleet.kinds import Cut
from fleet.models import Cart, Recheck
from lifts.actions import (
    LiftOrPlain,
    LiftsNothing,
    add_kit,
    correct_fitting,
    fit,
    remove_lift,
    replace_kit,
    take_wheel_off,
)
from lifts.kit_lines import read_joints
from lifts.models import Fitting, JointPart, Kit, Look
from lifts.visit_kit import fitting_on
from shared.models import new_id
from tests.lift_factories import a_cart, a_site, kit_value
from tests.round_factories import Told
from tests.round_pages import Shop

pytestmark = pytest.mark.django_db
LUGS = """\
joint | family | wheel | count | thread | target | marks
left front lugs | lugs | left front | 4 | 1/2-20 | 75 N.m | critical
left rear lugs | lugs | left rear | 4 | 1/2-20 | 75 N.m | critical
right rear lugs | lugs | right rear | 4 | 1/2-20 | 75 N.m | critical
right front lugs | lugs | right front | 4 | 1/2-20 | 75 N.m | critical
"""


@pytest.fixture
def shop(monkeypatch):
    shop = Shop(monkeypatch)
    shop.later(days=1)
    shop.plain = a_cart(shop.site, shop.manager, "9", at=shop.at, use_class="rental")
    shop.later(days=1)
    return shop


def plain_value(**changes):
    value = {"code": "plain-cart", "name": "Plain cart", "front": "none", "rear": "none"}
    value |= {"rise_front_mm": None, "rise_rear_mm": None, "points": []}
    return kit_value(**value | {"joints": read_joints(LUGS, "N.m")} | changes)


def a_sheet(shop, **changes):
    return add_kit(shop.site, plain_value(**changes), by=shop.manager, at=shop.at)


def wheel_off(shop, wheel="left front"):
    take_wheel_off(shop.plain, wheel, by=shop.mechanic, at=shop.at)
    shop.later(hours=1)


def active(cart):
    found = cart.rechecks.active().order_by("rule_code", "subject")
    return list(found.values_list("kind_code", "subject"))


def joints_asked(page):
    [step] = [step for step in page.steps if step.part.code == "joints"]
    return [joint.name for joint in step.form.joints]


def goes(shop):
    viewer = type("Viewer", (), {"site_ids": [shop.site.pk], "at": shop.at})
    [line] = [
        line
        for line in morning_list(viewer, shop.site, shop.site.day(shop.at))
        if line.said.cart == shop.plain
    ]
    return line.said.goes


def test_a_wheel_off_at_a_plain_cart_is_closed_by_its_lugs_and_the_desk_says_go(client, shop):
    a_sheet(shop)
    wheel_off(shop)
    shop.later(days=8)
    assert not goes(shop)

    page = shop.opened(client, cart=shop.plain)
    assert joints_asked(page) == ["left front lugs"]
    assert shop.sent(client, page).status_code == 302

    look = Look.objects.get(fact__cart=shop.plain)
    assert (look.name, str(look.target_nm), look.wrench_state) == (
        "left front lugs",
        "75.0000",
        "good",
    )
    closed = Recheck.objects.get(cart=shop.plain, kind_code="wheel-lugs")
    assert closed.ended == Recheck.Ended.CLOSED
    assert goes(shop)


def test_without_a_sheet_the_pages_say_what_to_do_and_nothing_closes(client, shop):
    client.force_login(shop.mechanic)
    off = {"act": str(new_id()), "done_on": shop.at.date().isoformat(), "wheel": "left rear"}
    answer = client.post(shop.url("wheel-off-create", cart=shop.plain), off, follow=True)
    page = shop.opened(client, cart=shop.plain)

    assert "Nothing on record names those lugs" in answer.content.decode()
    [step] = [step for step in page.steps if step.part.code == "joints"]
    assert step.form.nothing_asked().startswith("This cart bears no lift, and no sheet")
    html = client.get(shop.url("round-create", cart=shop.plain)).content.decode()
    assert "A manager adds a kit that lifts nothing" in html
    assert f'href="{reverse("kit-list", args=[shop.site.slug])}"' in html
    assert shop.sent(client, page).status_code == 200
    assert active(shop.plain) == [("wheel-lugs", "left rear")]


def test_with_a_sheet_a_wheel_off_says_no_such_thing(client, shop):
    a_sheet(shop)
    client.force_login(shop.mechanic)
    off = {"act": str(new_id()), "done_on": shop.at.date().isoformat(), "wheel": "left rear"}

    answer = client.post(shop.url("wheel-off-create", cart=shop.plain), off, follow=True)

    assert "Nothing on record names those lugs" not in answer.content.decode()


def test_other_tyres_at_a_plain_cart_close_by_lugs_speed_and_brake(client, shop):
    a_sheet(shop)
    change_tyres(shop.plain, "20x10-10", "508", by=shop.manager, at=shop.at)
    shop.later(hours=1)
    assert {kind for kind, _subject in active(shop.plain)} == {
        "all-lugs",
        "brake-check",
        "speed-run",
    }

    page = shop.opened(client, cart=shop.plain)
    assert [step.part.code for step in page.steps] == ["brake", "speed", "joints"]
    assert len(joints_asked(page)) == 4
    shop.sent(client, page)

    assert active(shop.plain) == []


def test_lugs_not_reached_at_a_plain_cart_stay_asked_for(client, shop):
    a_sheet(shop)
    change_tyres(shop.plain, "20x10-10", "508", by=shop.manager, at=shop.at)
    shop.later(hours=1)
    page = shop.opened(client, cart=shop.plain)
    [step] = [step for step in page.steps if step.part.code == "joints"]
    last = step.form.joints[-1]

    shop.sent(client, page, **{f"joints-found-{last.pk}": "not reached"})

    assert active(shop.plain) == [("joint-look", "right front lugs")]
    shop.later(hours=1)
    again = shop.opened(client, cart=shop.plain)
    assert joints_asked(again) == ["right front lugs"]
    shop.sent(client, again)
    assert active(shop.plain) == []


def test_the_newest_sheet_counts_and_a_lifted_cart_keeps_its_kit(client, shop):
    a_sheet(shop)
    shop.later(hours=1)
    newest = plain_value()["joints"][:1]
    a_sheet(shop, code="plain-2", joints=newest)
    shop.later(hours=1)
    a_sheet_elsewhere(shop)

    names = joints_asked(shop.opened(client, cart=shop.plain, query="?whole"))

    assert names == ["left front lugs"]
    assert "front frame" in joints_asked(shop.opened(client))
    assert len(joints_asked(shop.opened(client))) == 8


def a_sheet_elsewhere(shop):
    site, manager = a_site("elsewhere", at=shop.at)
    return add_kit(site, plain_value(), by=manager, at=shop.at)


def test_what_was_seen_of_a_plain_carts_lugs_is_known_the_next_time(client, shop):
    a_sheet(shop)
    for _time in range(2):
        wheel_off(shop)
        page = shop.opened(client, cart=shop.plain)
        shop.sent(client, page)
        shop.later(hours=1)
    wheel_off(shop)

    page = shop.opened(client, cart=shop.plain)

    [step] = [step for step in page.steps if step.part.code == "joints"]
    [card] = step.form.cards()
    assert card["last"].startswith("last time FIRM, 03/04/2026")


def test_looks_of_a_lift_that_is_off_tell_nothing_of_a_plain_cart(client, shop):
    a_sheet(shop)
    shop.rounds(client)
    shop.later(hours=1)
    remove_lift(fitting_on(shop.cart, Cut(shop.at, shop.at)), "Sold", by=shop.manager, at=shop.at)
    shop.later(hours=1)
    take_wheel_off(shop.cart, "left front", by=shop.mechanic, at=shop.at)
    shop.later(hours=1)

    page = shop.opened(client, cart=Cart.objects.get(pk=shop.cart.pk))

    [step] = [step for step in page.steps if step.part.code == "joints"]
    assert [card["last"] for card in step.form.cards()] == [""]


def looked_at(shop, kit):
    """Save a round at the plain cart with one firm look at the first joint of a kit."""
    joint = kit.joints.order_by("place")[0]
    look = Look(joint=joint, name=joint.name, family=joint.family, found="firm", right_after=True)
    joints = Told("joints", JointPart(offered=["lugs"], stage="recurring"), [look])
    taken = TakenDown(id=new_id(), opened_at=shop.at, parts=[(joints, None)])
    return save_round(shop.plain, taken, by=shop.mechanic, at=shop.at)


def test_joints_of_a_lift_are_never_done_before_its_fitting_those_of_the_sheet_are(shop):
    sheet = a_sheet(shop)

    with pytest.raises(BeforeFitting):
        looked_at(shop, shop.kit)
    looked_at(shop, sheet)

    assert Look.objects.get().joint.kit == sheet


def test_a_round_at_a_plain_cart_told_again_after_a_fitting_asks_for_its_lugs(client, shop):
    a_sheet(shop)
    wheel_off(shop)
    shop.sent(client, shop.opened(client, cart=shop.plain))
    row = JointPart.objects.get().round
    shop.later(hours=1)
    fit(shop.plain, shop.kit, by=shop.manager, at=shop.at)
    shop.later(hours=1)

    page = shop.opened(client, shop.manager, shop.plain, f"?corrects={row.pk}")

    assert len(joints_asked(page)) == 4


def test_no_cart_is_fitted_with_what_lifts_nothing(client, shop):
    sheet = a_sheet(shop)
    fitting = Fitting.objects.get()

    with pytest.raises(LiftsNothing):
        fit(shop.plain, sheet, by=shop.manager, at=shop.at)
    with pytest.raises(LiftsNothing):
        correct_fitting(fitting, sheet, [], reason="No", by=shop.manager, at=shop.at)

    client.force_login(shop.manager)
    form = client.get(shop.url("fitting-create", cart=shop.plain)).context["form"]
    assert list(form.fields["kit"].queryset) == [shop.kit]


def test_an_edition_never_makes_a_sheet_of_a_lift_nor_a_lift_of_a_sheet(shop):
    sheet = a_sheet(shop)
    none = {"front": "none", "rear": "none"}

    with pytest.raises(LiftOrPlain):
        replace_kit(shop.kit, kit_value(**none), by=shop.manager, at=shop.at)
    with pytest.raises(LiftOrPlain):
        replace_kit(sheet, plain_value() | {"front": "spacer"}, by=shop.manager, at=shop.at)

    assert Kit.objects.filter(replaced_at=None).count() == 2


def test_a_manager_begins_the_sheet_with_the_usual_lugs(client, shop):
    client.force_login(shop.manager)
    url = reverse("kit-create", args=[shop.site.slug])
    form = client.get(f"{url}?plain").context["form"]
    sent = {name: form[name].value() or "" for name in form.fields if name != "sheet_file"}

    client.post(f"{url}?plain", sent | {"edition": "own"})

    sheet = Kit.objects.plain().get()
    assert [joint.family for joint in sheet.joints.all()] == ["lugs"] * 4
    html = client.get(sheet.get_absolute_url()).content.decode()
    assert "no cart is fitted with it" in html
    assert (
        "no cart is fitted with it" not in client.get(shop.kit.get_absolute_url()).content.decode()
    )
