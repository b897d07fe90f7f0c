"""A clock that was stepped, or lies behind what was recorded: nothing is too old by it."""

from datetime import timedelta

import pytest
from django.core import signing

from fleet.actions.reminders import sweep
from fleet.actions.sites import found_site
from fleet.actions.tags import hand_back, tag_cart
from fleet.calls import open_tags
from fleet.kinds import Cut
from fleet.models import Digest, Notice, Tag
from fleet.reported import standing_tags
from fleet.visits import SALT, new_visit, visit_carried
from shared.actions import note_done
from shared.facts import TICK
from shared.models import JournalHead, LastDone, Person, Role
from shared.viewer import Viewer
from tests.fleet.test_reminders import MORNING, TODAY, recheck_at, staff
from tests.lift_factories import a_cart

pytestmark = pytest.mark.django_db

YEAR, DAY, MINUTE = timedelta(days=365), timedelta(days=1), timedelta(minutes=1)


@pytest.fixture
def site():
    values = {"slug": "heron", "name": "Heron", "zone": "America/New_York", "digest_hour": 6}
    manager = Person(email="manager@example.org", name="Mo")
    return found_site(values, manager, at=MORNING - 30 * DAY)


def believed(site):
    pass


def stepped_lately(site):
    note_done(LastDone.What.CLOCK_STEPPED, at=MORNING - 7 * DAY, by_s=86400 * 365)


def stepped_long_ago(site):
    note_done(LastDone.What.CLOCK_STEPPED, at=MORNING - 8 * DAY - MINUTE, by_s=86400 * 365)


def stepped_ahead(site):
    note_done(LastDone.What.CLOCK_STEPPED, at=MORNING + YEAR, by_s=86400 * 365)


def behind_the_journal(site):
    JournalHead.objects.filter(site=site).update(last_received_at=MORNING + 5 * MINUTE + MINUTE)


def as_clocks_differ(site):
    JournalHead.objects.filter(site=site).update(last_received_at=MORNING + 5 * MINUTE)


CLOCKS = [
    (believed, True),
    (stepped_lately, False),
    (stepped_long_ago, True),
    (stepped_ahead, False),
    (behind_the_journal, False),
    (as_clocks_differ, True),
]


@pytest.mark.parametrize(("clock", "is_given_up"), CLOCKS)
def test_a_notice_is_too_old_only_by_a_clock_that_is_believed(site, clock, is_given_up):
    person = staff(site)
    recheck = recheck_at(site, day=TODAY - 30 * DAY)
    Notice.objects.create(
        site=site,
        person=person,
        cart=recheck.cart,
        about=recheck.pk,
        stage="due",
        day=TODAY - 30 * DAY,
        made_at=MORNING - 8 * DAY,
    )
    clock(site)

    sweep(MORNING)

    assert (Notice.objects.get(about=recheck.pk).dropped != "") == is_given_up


@pytest.mark.parametrize(("clock", "is_given_up"), CLOCKS)
def test_a_later_day_takes_a_digests_place_only_by_a_clock_that_is_believed(
    site, clock, is_given_up, mailoutbox
):
    person = staff(site)
    recheck_at(site)
    Digest.objects.create(person=person, day=TODAY - DAY, planned_at=MORNING - DAY)
    clock(site)

    sweep(MORNING)

    assert (Digest.objects.get(day=TODAY - DAY).dropped != "") == is_given_up


def test_a_tag_put_on_once_the_clock_is_back_is_seen_and_mailed(site, mailoutbox):
    manager = staff(site, Role.MANAGER)
    cart, early = (a_cart(site, manager, number, at=MORNING - DAY) for number in "12")
    ahead = tag_cart(early, "no brake", by=manager, at=MORNING + YEAR)

    tag = tag_cart(cart, "wheel loose", by=manager, at=MORNING)
    sweep(MORNING)

    assert (tag.done_at, tag.received_at) == (MORNING, MORNING + YEAR + TICK)
    assert set(open_tags()) == {tag, ahead}
    assert list(standing_tags(Viewer(manager, MORNING), site)) == [tag, ahead]
    told = Notice.objects.filter(stage="tagged", sent_at=MORNING)
    assert set(told.values_list("about", flat=True)) == {tag.pk, ahead.pk}
    hand_back(tag, done="tightened", repaired_by=manager, by=manager, at=MORNING + MINUTE)
    assert list(open_tags()) == [ahead]


def test_a_round_page_reads_what_was_known_when_it_was_opened_though_that_arrived_ahead(site):
    mechanic = staff(site)
    cart = a_cart(site, mechanic, at=MORNING)
    other = a_cart(site, mechanic, "8", at=MORNING + YEAR)
    viewer = Viewer(mechanic, MORNING + DAY)
    tag = tag_cart(cart, "wheel loose", by=mechanic, at=MORNING + MINUTE)

    visit = new_visit(cart, viewer, [])
    carried = visit_carried(visit.token, cart, viewer)

    assert other.number == "8"
    for one in (visit, carried):
        assert (one.opened_at, one.known_by) == (MORNING + DAY, MORNING + YEAR + TICK)
        assert list(Tag.objects.known(one.opening.happened_by, one.opening.known_by)) == [tag]


def test_a_round_page_without_the_journals_end_reads_what_was_known_by_its_opening(site):
    cart = a_cart(site, mechanic := staff(site), at=MORNING)
    viewer = Viewer(mechanic, MORNING + DAY)
    said = signing.loads(new_visit(cart, viewer, []).token, salt=SALT)
    del said["journal_at"]

    carried = visit_carried(signing.dumps(said, salt=SALT), cart, viewer)

    assert carried.opening == Cut(MORNING + DAY, MORNING + DAY)
