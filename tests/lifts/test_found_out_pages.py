"""The page of a wrench found out, its rechecks by one press, and what the records then say."""

from datetime import timedelta

import pytest
from django.urls import reverse

from fleet.actions.register import change_cart
from fleet.actions.tags import order_recheck
from fleet.kinds import Cut
from fleet.models import Recheck, RecheckOrder, Round
from lifts import chapters
from lifts.actions import fit, remove_lift
from lifts.actions.rechecks import order_joint_looks
from lifts.found_out import looks_found_out
from lifts.found_since import spoilt_looks
from lifts.models import Fitting
from lifts.registry import register
from shared import clock
from shared.models import Role
from tests.at_once import at_once
from tests.factories import MORNING
from tests.found_out_factories import a_joint_round, a_look, certified, dropped
from tests.lift_factories import a_cart, with_role
from tests.lifts.test_found_out import FOUND, cut, on, the_finding
from tests.wrench_factories import a_good_wrench

pytestmark = pytest.mark.django_db
NOW = on(8, 6)
ROUND_ON = on(20, 5)


@pytest.fixture(autouse=True)
def _now(monkeypatch):
    monkeypatch.setattr(clock, "now", lambda: NOW)


@pytest.fixture
def wrench(site, manager):
    return a_good_wrench(site, manager)


@pytest.fixture
def fitted(cart, kit, manager):
    fit(cart, kit, by=manager, at=MORNING)
    return cart


@pytest.fixture
def frame(kit):
    return kit.joints.get(name="front frame")


@pytest.fixture
def bolts(kit):
    return kit.joints.get(name="left U-bolts")


@pytest.fixture
def finding(wrench, manager, fitted, frame, bolts):
    """14 % low, with two looks of a round spoilt: one critical, one not."""
    a_joint_round(fitted, manager, ROUND_ON, a_look(frame, wrench), a_look(bolts, wrench))
    certified(wrench, manager, FOUND, found="-0.14", left="0")
    return the_finding(wrench)


def url(finding, name="found-out"):
    return reverse(name, args=[finding.wrench.site.slug, finding.wrench.pk, finding.id])


def shown(client, person, finding):
    client.force_login(person)
    return client.get(url(finding)).content.decode()


def pressed(client, person, finding, *looks, reason="Bench test", **more):
    client.force_login(person)
    sent = {"reason": reason, "look": [look.pk for look in looks], **more}
    return client.post(url(finding, "found-out-order"), sent)


def looks_of(finding, at=NOW):
    return [one.look for one in looks_found_out(finding, cut(at))]


def told(finding, at=NOW):
    """Return {joint: Spoilt} of the looks that are listed, the last at each joint."""
    found = looks_found_out(finding, cut(at))
    spoilt = spoilt_looks(finding.wrench.site, found, cut(at))
    return {one.found.look.name: one for one in reversed(spoilt)}


def again(look, finding, at=NOW):
    return told(finding, at)[look.name].again


def active():
    rows = Recheck.objects.active().filter(kind_code="joint-look").order_by("subject")
    return [(row.subject, row.due_on, row.stops_on) for row in rows]


def test_the_page_says_what_was_found_when_and_of_which_looks(client, manager, finding):
    page = shown(client, manager, finding)

    for words in (
        "Certificate C-2, 06/06/2026",
        "-14.0 % at ",
        "after 03/02/2026 08:00, when it was last known to be good, up to 06/06/2026 14:00",
        "front frame",
        "05/20/2026",
        "too little",
        "due 06/09/2026",
        "due 06/15/2026",
    ):
        assert words in page, words
    assert page.count("checked") == 2


def test_no_browser_puts_ticks_of_before_on_what_is_left(client, manager, finding):
    # gone back to, a browser gives ticks by their order, and made rechecks have no box
    assert 'data-submit-once autocomplete="off"' in shown(client, manager, finding)


def test_one_press_makes_a_recheck_for_each_joint_by_its_criticality(client, manager, finding):
    pressed(client, manager, finding, *looks_of(finding))

    today = NOW.date()
    assert active() == [
        ("front frame", today + timedelta(days=7), None),
        ("left U-bolts", today + timedelta(days=1), today + timedelta(days=2)),
    ]
    said = "Wrench TW-1 found out (Certificate C-2, 06/06/2026 14:00): Bench test"
    assert set(RecheckOrder.objects.values_list("reason", flat=True)) == {said}
    page = shown(client, manager, finding)
    assert page.count("recheck made on 06/08/2026") == 2
    assert "Make the rechecks" not in page


def test_a_second_press_makes_nothing_more(client, manager, finding):
    frame, bolts = looks_of(finding)
    pressed(client, manager, finding, frame)
    again = pressed(client, manager, finding, frame, reason="Another reason")
    assert "Nothing is ticked, or all of it was made before" in again.content.decode()

    pressed(client, manager, finding, frame, bolts)
    assert [subject for subject, *_ in active()] == ["front frame", "left U-bolts"]
    assert RecheckOrder.objects.count() == 2


def test_the_act_itself_leaves_what_was_ordered_for_another_reason(manager, finding):
    looks = looks_of(finding)
    made = [
        len(order_joint_looks(finding, looks, reason=why, by=manager, at=NOW))
        for why in ("first", "second")
    ]

    assert made == [2, 0]


def test_without_a_reason_nothing_is_made_and_ticks_stay(client, manager, finding):
    frame, _bolts = looks_of(finding)

    page = pressed(client, manager, finding, frame, reason="").content.decode()

    assert RecheckOrder.objects.count() == 0
    assert f'value="{frame.pk}" checked' in page
    assert page.count(" checked") == 1


@pytest.mark.parametrize("role", [Role.MECHANIC, Role.SURVEYOR])
def test_others_read_and_press_nothing(client, site, manager, finding, role):
    person = with_role(site, manager, role)

    page = shown(client, person, finding)
    assert "front frame" in page
    assert "checkbox" not in page
    assert pressed(client, person, finding, *looks_of(finding)).status_code == 404
    assert RecheckOrder.objects.count() == 0


def test_a_recheck_closes_when_its_joint_is_gone_round_with_a_good_wrench(
    client, site, manager, fitted, wrench, frame, finding
):
    pressed(client, manager, finding, *looks_of(finding))
    doubted = a_look(frame, wrench, wrench_state="doubted")
    a_joint_round(fitted, manager, NOW + timedelta(hours=1), doubted)
    assert len(active()) == 2

    at = NOW + timedelta(hours=2)
    a_joint_round(fitted, manager, at, a_look(frame, a_good_wrench(site, manager, name="TW-2")))
    assert [subject for subject, *_ in active()] == ["left U-bolts"]
    one = told(finding, at)["front frame"]
    assert (one.closed_at, one.may_order) == (at, False)


def test_a_joint_firm_since_with_another_wrench_is_listed_and_not_ticked(
    client, site, manager, fitted, frame, finding
):
    other = a_good_wrench(site, manager, name="TW-2")
    a_joint_round(fitted, manager, on(7, 6), a_look(frame, other))

    page = shown(client, manager, finding)

    assert "looked at again on 06/07/2026 with TW-2: FIRM" in page
    assert page.count('type="checkbox"') == 2
    assert page.count(" checked") == 1


@pytest.mark.parametrize(
    ("about", "is_again"),
    [
        ({}, True),
        ({"found": "took up", "action": "tightened"}, True),
        ({"found": "slack", "right_after": False}, False),
        ({"found": "not reached"}, False),
        ({"pin": "undisturbed"}, False),
        ({"wrench_state": "due"}, False),
    ],
)
def test_only_a_look_that_turned_the_nut_with_a_good_wrench_counts_as_again(
    site, manager, fitted, frame, finding, about, is_again
):
    other = a_good_wrench(site, manager, name="TW-2")
    a_joint_round(fitted, manager, on(7, 6), a_look(frame, other, **about))

    assert (again(frame, finding) is not None) is is_again


def test_the_same_wrench_counts_once_it_was_mended_and_not_before(
    manager, fitted, wrench, frame, finding
):
    assert again(frame, finding) is None
    a_joint_round(fitted, manager, on(7, 6), a_look(frame, wrench))

    assert again(frame, finding).fact.done_at == on(7, 6)


def test_a_look_again_with_a_wrench_that_was_found_out_too_does_not_count(
    site, manager, fitted, frame, finding
):
    other = a_good_wrench(site, manager, name="TW-2")
    a_joint_round(fitted, manager, on(7, 6), a_look(frame, other))
    assert again(frame, finding)

    dropped(other, manager, on(7, 6, 12))
    assert again(frame, finding) is None


def test_too_much_stays_ticked_though_it_was_firm_since(site, manager, fitted, wrench, frame):
    a_joint_round(fitted, manager, ROUND_ON, a_look(frame, wrench))
    certified(wrench, manager, FOUND, found="0.2", left="0")
    other = a_good_wrench(site, manager, name="TW-2")
    a_joint_round(fitted, manager, on(7, 6), a_look(frame, other))

    one = told(the_finding(wrench))["front frame"]
    assert (one.again is not None, one.is_preset) == (True, True)


def test_a_joint_with_two_looks_gets_one_recheck(client, manager, fitted, wrench, frame, finding):
    a_joint_round(fitted, manager, on(5, 6), a_look(frame, wrench), told_at=on(7, 6))
    page = shown(client, manager, finding)
    assert "see the later look at this joint" in page
    assert page.count('type="checkbox"') == 2

    pressed(client, manager, finding, *looks_of(finding))
    assert RecheckOrder.objects.count() == 2


def test_what_cannot_be_rechecked_is_listed_with_its_reason(
    client, site, manager, kit, wrench, frame, finding
):
    gone, bare = (a_cart(site, manager, number=number) for number in ("8", "9"))
    for cart in (gone, bare):
        fit(cart, kit, by=manager, at=MORNING, done_at=MORNING)
        a_joint_round(cart, manager, ROUND_ON, a_look(frame, wrench), told_at=on(7, 6))
    change_cart(gone, "left", {}, reason="Sold", by=manager, at=on(7, 6))
    remove_lift(Fitting.objects.get(cart=bare), "plain again", by=manager, at=on(7, 6))

    page = shown(client, manager, finding)
    assert "no recheck: the cart has left the fleet" in page
    assert "no recheck: its lift was taken off on 06/07/2026" in page
    assert page.count('type="checkbox"') == 2

    pressed(client, manager, finding, *looks_of(finding))
    assert set(RecheckOrder.objects.values_list("cart__number", flat=True)) == {"7"}


def test_a_joint_that_the_kit_lists_no_more_is_said(kit, manager, frame, finding):
    kit.joints.filter(pk=frame.pk).update(name="front frame, renamed")

    one = told(finding)["front frame"]
    assert (one.obstacle, one.may_order) == ("its kit lists no such joint any more", False)


def test_many_carts_come_page_by_page_and_one_press_takes_all(
    client, site, manager, kit, wrench, frame, finding, monkeypatch
):
    monkeypatch.setattr("lifts.views.found_out.CARTS_A_PAGE", 1)
    other = a_cart(site, manager, number="8")
    fit(other, kit, by=manager, at=MORNING, done_at=MORNING)
    a_joint_round(other, manager, ROUND_ON, a_look(frame, wrench), told_at=on(7, 6))

    page = shown(client, manager, finding)
    assert ("Cart 7" in page, "Cart 8" in page, "Page 1 of 2" in page) == (True, False, True)
    assert "Make 3 rechecks, all that were ticked beforehand" in page

    pressed(client, manager, finding, all="yes")
    assert RecheckOrder.objects.count() == 3


def test_a_wrench_page_leads_to_it_and_to_none_without_a_finding(
    client, site, manager, finding, wrench
):
    client.force_login(manager)
    assert url(finding) in client.get(wrench.get_absolute_url()).content.decode()

    other = a_good_wrench(site, manager, name="TW-2")
    assert "Found out" not in client.get(other.get_absolute_url()).content.decode()
    certificate = other.pk
    nothing = reverse("found-out", args=[site.slug, other.pk, certificate])
    assert client.get(nothing).status_code == 404


def test_the_round_says_so_for_ever(client, site, manager, fitted, wrench, frame, finding):
    pressed(client, manager, finding, *looks_of(finding))
    a_joint_round(fitted, manager, NOW, a_look(frame, a_good_wrench(site, manager, name="TW-2")))
    row = Round.objects.get(done_at=ROUND_ON)
    address = reverse("round-detail", args=[site.slug, fitted.pk, row.pk])

    page = client.get(address).content.decode()

    assert page.count("done with wrench TW-1, later doubted (Certificate C-2, 06/06/2026") == 2
    assert url(finding) in page
    last = reverse("round-detail", args=[site.slug, fitted.pk, Round.objects.latest("done_at").pk])
    assert "later doubted" not in client.get(last).content.decode()


def notes(row, at):
    [say] = register.round_notes
    return [note.item for note in say(row, row.site, Cut(at, at))]


def test_a_round_said_nothing_before_the_finding_was_known(finding):
    row = Round.objects.get(done_at=ROUND_ON)

    assert notes(row, on(5, 6)) == []
    assert notes(row, NOW) == ["front frame", "left U-bolts"]


def test_a_cleared_drop_stays_in_the_records(manager, fitted, wrench, frame):
    a_joint_round(fitted, manager, ROUND_ON, a_look(frame, wrench))
    dropped(wrench, manager, on(25, 5))
    certified(wrench, manager, FOUND, found="0.01")

    [note] = register.round_notes[0](Round.objects.get(), fitted.site, cut(NOW))
    assert "its next certificate found it inside at" in note.words


def test_the_chapter_on_the_carts_page_says_so_too(manager, fitted, finding):
    def noted(at):
        [chapter] = chapters.chapters_of(fitted, cut(at))
        return {item: detail for item, _found, detail in chapter.rounds[-1].noted}

    assert noted(on(5, 6)) == {}
    assert sorted(noted(NOW)) == ["front frame", "left U-bolts"]
    assert "later doubted (Certificate C-2" in noted(NOW)["front frame"]


def test_a_struck_order_is_said_and_not_made_again(client, manager, site, fitted, finding):
    frame, _bolts = looks_of(finding)
    pressed(client, manager, finding, frame)
    order = RecheckOrder.objects.get()
    address = reverse("entry-strike", args=[site.slug, fitted.pk, order.pk])
    client.post(address, {"reason": "not needed"})

    assert "no recheck: its recheck was taken back" in shown(client, manager, finding)


def test_an_order_by_hand_is_no_recheck_of_the_finding(manager, fitted, finding):
    due = NOW.date()
    order_recheck(fitted, "joint-round", due, reason="soon", by=manager, at=NOW)

    assert all(one.may_order for one in told(finding).values())


@pytest.mark.django_db(transaction=True)
def test_two_presses_at_once_make_each_recheck_once(postgres, manager, finding):
    looks = looks_of(finding)

    def press():
        return order_joint_looks(finding, looks, reason="twice", by=manager, at=NOW)

    made = at_once(press, press)

    assert sorted(len(orders) for orders in made) == [0, 2]
    assert RecheckOrder.objects.count() == 2
