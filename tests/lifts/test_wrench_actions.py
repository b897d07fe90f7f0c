"""What is recorded of wrenches: once, under the site's lock, with rows that follow."""

from decimal import Decimal

import pytest

from lifts import told_wrenches
from lifts.actions.wrenches import (
    TooFewPoints,
    WrenchKnown,
    add_certificate,
    add_event,
    add_wrench,
    certificate_points,
    change_wrench,
    strike_of_wrench,
)
from lifts.models import Wrench, WrenchCertificate, WrenchEvent, WrenchPoint
from shared.facts import NotStanding, OtherBody
from shared.models import Change, Entry, new_id
from tests.at_once import at_once
from tests.factories import MORNING
from tests.lift_factories import a_site
from tests.wrench_factories import DAY, a_certificate, a_wrench, wrench_value

pytestmark = pytest.mark.django_db


def test_a_wrench_sent_twice_is_one_and_with_another_body_none(site, manager):
    act = new_id()
    first = add_wrench(site, wrench_value(), by=manager, at=MORNING, id=act)

    again = add_wrench(site, wrench_value(), by=manager, at=MORNING + DAY, id=act)
    assert (again, again.from_at) == (first, MORNING)
    with pytest.raises(OtherBody):
        add_wrench(site, wrench_value(name="TW-2"), by=manager, at=MORNING, id=act)

    assert Wrench.objects.count() == Change.objects.filter(what="wrench").count() == 1


def test_a_name_is_one_at_a_site_and_free_at_another(site, manager):
    a_wrench(site, manager)
    second = a_wrench(site, manager, name="TW-2")
    other, its_manager = a_site("hills")
    a_wrench(other, its_manager)

    with pytest.raises(WrenchKnown):
        a_wrench(site, manager)
    with pytest.raises(WrenchKnown):
        change_wrench(second, wrench_value(), reason="swap", by=manager, at=MORNING)


def test_a_change_sent_again_after_a_later_one_changes_nothing(site, manager):
    wrench, act = a_wrench(site, manager), new_id()
    about = {"reason": "engraved", "by": manager}
    first = wrench_value(name="TW-8")
    change_wrench(wrench, first, at=MORNING + DAY, id=act, **about)
    change_wrench(wrench, wrench_value(name="TW-9"), at=MORNING + 2 * DAY, **about)

    change_wrench(wrench, first, at=MORNING + 3 * DAY, id=act, **about)

    kept = Wrench.objects.get()
    assert (kept.name, kept.pk, kept.from_at) == ("TW-9", wrench.pk, MORNING)


def test_rows_are_compared_with_what_the_changes_say(site, manager):
    # 75 lbf.ft, with more digits than its column keeps
    wrench = a_wrench(site, manager, full_scale_nm="101.68634611")
    assert list(told_wrenches.differences(site)) == []
    change_wrench(
        wrench, wrench_value(name="TW-9"), reason="engraved", by=manager, at=MORNING + DAY
    )
    last = Change.objects.filter(what="wrench").last()
    assert list(told_wrenches.differences(site)) == []

    Wrench.objects.update(full_scale_nm=Decimal(120))
    [(change, said)] = told_wrenches.differences(site)
    assert (change, said) == (last.pk, "its row says something else (full_scale_nm)")

    Wrench.objects.update(full_scale_nm=Decimal(100), id=new_id())
    found = list(told_wrenches.differences(site))
    assert found[0] == (last.pk, "its row is missing")
    assert found[1][0] is None


def test_a_certificate_needs_three_points(site, manager):
    wrench = a_wrench(site, manager)
    points = certificate_points([("20 N.m", Decimal(20), 0, 0), ("60 N.m", Decimal(60), 0, 0)])
    about = {"number": "C", "tolerance": Decimal("0.04")}

    with pytest.raises(TooFewPoints):
        add_certificate(wrench, about, points, by=manager, at=MORNING)

    assert not WrenchCertificate.objects.exists()


def test_a_certificate_and_a_strike_sent_twice_are_one_each(site, manager):
    wrench, act, strike = a_wrench(site, manager), new_id(), new_id()
    kept = a_certificate(wrench, manager, MORNING, id=act)
    a_certificate(wrench, manager, MORNING + DAY, id=act)
    assert (WrenchCertificate.objects.count(), WrenchPoint.objects.count()) == (1, 3)

    about = {"reason": "another wrench's", "by": manager}
    strike_of_wrench(kept, at=MORNING + DAY, id=strike, **about)
    strike_of_wrench(kept, at=MORNING + 2 * DAY, id=strike, **about)
    with pytest.raises(NotStanding):
        strike_of_wrench(kept, at=MORNING + 2 * DAY, **about)

    assert Entry.objects.filter(corrects=kept.pk).count() == 1


@pytest.mark.django_db(transaction=True)
@pytest.mark.services
def test_two_who_give_one_name_at_once_make_one_wrench(site, manager):
    def give():
        return add_wrench(site, wrench_value(), by=manager, at=MORNING)

    answers = at_once(give, give)

    assert sorted(type(answer).__name__ for answer in answers) == ["Wrench", "WrenchKnown"]
    assert Change.objects.filter(what="wrench").count() == 1


@pytest.mark.django_db(transaction=True)
@pytest.mark.services
def test_one_press_sent_twice_at_once_is_one_drop(site, manager):
    wrench, act = a_wrench(site, manager), new_id()

    def press():
        return add_event(wrench, WrenchEvent.What.DROPPED, by=manager, at=MORNING, id=act)

    first, second = at_once(press, press)

    assert first.pk == second.pk == act
    assert WrenchEvent.objects.count() == 1
