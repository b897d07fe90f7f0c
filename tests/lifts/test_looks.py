"""What earlier looks say of a joint, told by rounds as they were saved."""

from datetime import timedelta

import pytest

from fleet.kinds import Cut
from lifts.actions import fit, remove_lift
from lifts.looks import Before, looks_before
from lifts.models import Fitting, Joint, Look
from shared.clock import noon_of
from shared.facts import strike
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site
from tests.round_factories import a_round, told

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)
U_BOLTS = "left U-bolts"


@pytest.fixture
def yard():
    return Yard()


class Yard:
    """A lifted cart whose U-bolts are looked at once a day, as a test tells."""

    def __init__(self):
        self.site, self.manager = a_site()
        self.cart = a_cart(self.site, self.manager)
        self.kit = a_kit(self.site, self.manager)
        self.at = MORNING
        self.fitted()

    def fitted(self, **about):
        return fit(self.cart, self.kit, by=self.manager, at=self.at, **about)

    def looked(self, found, stage="settling", **values):
        """Save a round of the joints in which only the U-bolts' look is told."""
        self.at += DAY
        part = told("joints", self.cart, stage=stage, found={U_BOLTS: found})
        part.lines = [look for look in part.lines if look.name == U_BOLTS]
        for name, value in values.items():
            setattr(part.lines[0], name, value)
        return a_round(self.cart, by=self.manager, at=self.at, parts=(), ready=[part])

    def before(self, name=U_BOLTS, **more):
        known = looks_before(self.cart, Cut(self.at, self.at), **more)
        return known.of(self.kit.joints.get(name=name))


def test_a_joint_never_looked_at_is_known_by_nothing(yard):
    assert yard.before() == Before()


def test_the_last_look_is_told_with_its_day(yard):
    yard.looked("took up")
    yard.looked("firm")

    before = yard.before()

    assert (before.found, before.done_at) == ("firm", MORNING + 2 * DAY)


@pytest.mark.parametrize(
    ("story", "loose", "clean"),
    [
        ("firm firm", 0, None),
        ("slack", 1, 0),
        ("slack gone", 2, 0),
        ("slack slack slack", 3, 0),
        ("took up took up:recurring took up:recurring", 2, 0),
        ("slack firm", 0, 1),
        ("slack firm firm", 0, 2),
        ("slack firm slack", 1, 0),
        ("took up", 0, None),
        ("took up:recurring", 1, 0),
        ("slack took up:recurring slack", 3, 0),
        ("slack firm took up", 0, 0),
        ("slack:not reached", 1, 0),
    ],
)
def test_looks_in_a_row_are_counted(yard, story, loose, clean):
    for found, stage in _looks(story):
        yard.looked(found, stage)

    before = yard.before()

    assert (before.loose_before, before.clean_since) == (loose, clean)


def _looks(story):
    """Read "slack took up:recurring" as looks with their stages."""
    if story == "slack:not reached":
        return [("slack", "settling"), ("not reached", "settling")]
    words = story.replace("took up", "took-up").split(" ")
    parts = [word.partition(":") for word in words]
    return [(found.replace("-", " "), stage or "settling") for found, _mark, stage in parts]


def test_a_nut_taken_off_is_counted_until_it_is_new(yard):
    yard.looked("firm", nut_off=True)
    yard.looked("firm", nut_off=False)
    yard.looked("firm", nut_off=True)
    yard.looked("firm", nut_off=True)
    assert yard.before().removals == 3

    yard.looked("firm", nut_off=True, action="new nut")
    assert yard.before().removals == 0


def test_a_look_that_was_taken_back_tells_nothing(yard):
    saved = yard.looked("slack")
    for row in (saved.round, Look.objects.get().fact):
        strike(row, reason="another cart", by=yard.manager, at=yard.at)

    assert yard.before() == Before()


def test_a_round_told_again_does_not_know_itself(yard):
    yard.looked("slack")
    saved = yard.looked("slack")

    assert yard.before(but_round=saved.round.pk).loose_before == 1


def test_a_later_look_is_not_known_before(yard):
    yard.looked("slack")
    yard.at -= timedelta(hours=1)

    assert yard.before() == Before()


def test_another_lift_begins_anew(yard):
    yard.looked("slack")
    yard.at += DAY
    yard.fitted()

    assert yard.before() == Before()


def test_looks_in_the_morning_of_a_lift_whose_day_alone_is_known_are_of_it(yard):
    noon = noon_of(yard.site.day(yard.at) + DAY, yard.site.zone)
    yard.at = noon
    yard.fitted(day_only=True)
    yard.at = noon - timedelta(hours=3) - DAY
    yard.looked("slack")

    yard.at += DAY
    assert yard.before().found == "slack"


def test_looks_before_a_removal_was_told_are_of_the_lift(yard):
    off_at = yard.at + timedelta(hours=1)
    yard.looked("slack")
    yard.at += 9 * DAY
    remove_lift(Fitting.objects.get(), "sold", by=yard.manager, at=yard.at, done_at=off_at)
    assert yard.before() == Before()

    yard.looked("took up")

    assert yard.before().found == "took up"
    assert yard.before().loose_before == 0


def test_the_hub_bearing_is_what_was_said_last(yard):
    yard.at += DAY
    assert yard.before("right hub nut").hub_bearing == ""
    yard.fitted(hub_bearing="taper")
    assert yard.before("right hub nut").hub_bearing == "taper"
    assert yard.before().hub_bearing == ""

    yard.at += DAY
    part = told("joints", yard.cart)
    hub = next(look for look in part.lines if look.family == Joint.Family.HUB_NUTS)
    hub.hub_bearing = "sealed"
    a_round(yard.cart, by=yard.manager, at=yard.at, parts=(), ready=[part])

    assert yard.before("right hub nut").hub_bearing == "sealed"


@pytest.mark.parametrize("count", [1, 3])
def test_however_many_looks_cost_three_queries(yard, count, django_assert_num_queries):
    for _ in range(count):
        yard.looked("firm")

    with django_assert_num_queries(3):
        known = looks_before(yard.cart, Cut(yard.at, yard.at))

    assert known.by_name[U_BOLTS].found == "firm"
