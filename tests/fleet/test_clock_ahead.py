"""After the clock was ahead and was set right, what is told in time is not late for that."""

from datetime import timedelta

import pytest

from fleet import told_rows
from fleet.actions.sites import change_rules
from fleet.actions.tags import tag_cart
from fleet.models import Recheck, Round, RuleBook, Tag, WaitingRound
from fleet.tables.tags import OpenTagTable
from fleet.timeline import entries_of, items_of
from lifts.actions import fit, remove_lift
from lifts.lift_ends import removal_acts_at
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site
from tests.round_factories import a_round

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
AHEAD = MORNING + 30 * DAY


@pytest.fixture
def here():
    """A lifted cart at a site to which something was told while the clock was 30 days ahead."""
    site, manager = a_site()
    cart = a_cart(site, manager)
    fitting = fit(cart, a_kit(site, manager), by=manager, at=MORNING)
    a_cart(site, manager, number="99", at=AHEAD)
    return site, manager, cart, fitting


def close_out(cart):
    return Recheck.objects.get(cart=cart, kind_code="fitting-close-out").ended


def item_of_round(cart):
    (found,) = (item for item in items_of(entries_of(cart), cart) if item.is_round)
    return found


def test_a_round_told_in_time_closes_and_is_not_marked(here):
    _site, manager, cart, _fitting = here

    a_round(cart, by=manager, at=MORNING + HOUR)

    assert Round.objects.get().received_at > AHEAD
    assert close_out(cart) == "closed"
    assert not item_of_round(cart).is_written_late


def test_a_round_told_nine_days_late_waits_all_the_same(here):
    _site, manager, cart, _fitting = here

    a_round(cart, by=manager, at=MORNING + 9 * DAY, done_at=MORNING + HOUR)

    assert close_out(cart) == ""
    assert WaitingRound.objects.get().told_at == MORNING + 9 * DAY
    assert item_of_round(cart).told_at == MORNING + 9 * DAY


def test_a_tag_told_in_time_is_not_marked(here):
    site, manager, cart, _fitting = here
    tag = tag_cart(cart, "pulls to the left", by=manager, at=MORNING + HOUR)

    table = OpenTagTable(Tag.objects.all(), site=site, may_release=False, links=False)
    table.first = {}
    shown = table.render_done_at(tag.done_at, tag)

    assert "written late" not in shown


def test_a_removal_told_in_time_acts_from_when_it_was_done(here):
    _site, manager, _cart, fitting = here

    removal = remove_lift(
        fitting, "sold", by=manager, at=MORNING + 2 * HOUR, done_at=MORNING + HOUR
    )

    assert removal_acts_at(removal) == MORNING + HOUR


def test_rules_are_in_force_from_when_they_were_told(here):
    site, manager, _cart, _fitting = here
    rules = RuleBook.objects.get(site=site).rules

    book = change_rules(site, rules, reason="Salt air", by=manager, at=MORNING + HOUR)

    assert book.in_force_from == MORNING + HOUR
    assert list(told_rows.differences(site)) == []


def test_of_what_was_told_after_each_other_the_last_stands(here):
    site, manager, _cart, _fitting = here
    rules = RuleBook.objects.get(site=site).rules
    told = [("ahead", AHEAD), ("set right", MORNING + HOUR), ("once more", MORNING + HOUR)]

    for reason, at in told:
        change_rules(site, rules, reason=reason, by=manager, at=at)

    assert RuleBook.objects.filter(site=site).last().reason == "once more"
    assert list(told_rows.differences(site)) == []
