"""Work is not recorded as done before its lift was on, nor before it was done."""

from datetime import timedelta

import pytest

from fleet.actions.corrections import correct_round, move_round
from fleet.actions.meters import add_reading
from fleet.actions.register import lay_up
from fleet.actions.rounds import TakenDown, save_round
from fleet.actions.tags import tag_cart
from fleet.fitted import BeforeFitting, is_after_removal
from fleet.models import Cart, Reading, Round
from lifts.actions import fit, remove_lift
from shared.clock import noon_of
from shared.facts import StillToCome
from shared.models import Entry, new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_kit, a_site
from tests.round_factories import a_round, told
from tests.round_pages import Shop

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


class Yard:
    def __init__(self):
        self.site, self.manager = a_site()
        self.kit = a_kit(self.site, self.manager)
        self.cart = a_cart(self.site, self.manager)
        self.at = MORNING + 5 * DAY

    def fitted(self, cart=None, **when):
        fitting = fit(cart or self.cart, self.kit, by=self.manager, at=self.at, **when)
        return fitting

    def who(self, days=0):
        return {"by": self.manager, "at": self.at + days * DAY}


@pytest.fixture
def yard():
    return Yard()


def test_work_at_a_lift_is_never_before_its_fitting(yard):
    yard.fitted()
    entries = Entry.objects.count()

    with pytest.raises(BeforeFitting):
        a_round(yard.cart, done_at=yard.at - timedelta(seconds=1), **yard.who(1))
    assert Entry.objects.count() == entries
    assert a_round(yard.cart, done_at=yard.at, **yard.who(1)).first


def test_a_reading_by_itself_may_be_older_than_the_lift(yard):
    yard.fitted()
    visit = TakenDown(new_id(), opened_at=MORNING, done_at=MORNING + DAY, hours=400)

    save_round(yard.cart, visit, **yard.who(1))

    assert Reading.objects.get().done_at == MORNING + DAY


def test_of_a_fitting_whose_day_alone_is_known_the_whole_day_counts(yard):
    day = yard.site.day(yard.at)
    noon = noon_of(day, yard.site.zone)
    yard.at = noon + DAY
    yard.fitted(done_at=noon, day_only=True)

    with pytest.raises(BeforeFitting):
        a_round(yard.cart, done_at=noon - timedelta(hours=12, seconds=1), **yard.who(1))
    assert a_round(yard.cart, done_at=noon - timedelta(hours=12), **yard.who(1)).first


def test_a_round_under_an_earlier_lift_is_taken_and_one_after_its_removal_is_marked(yard):
    fitting = yard.fitted()
    remove_lift(fitting, "sold", **yard.who(10))

    a_round(yard.cart, done_at=yard.at + 3 * DAY, **yard.who(11))
    a_round(yard.cart, done_at=yard.at + 11 * DAY, **yard.who(11))

    cart = Cart.objects.get(pk=yard.cart.pk)
    rounds = Round.objects.order_by("done_at")
    assert [is_after_removal(cart, row.done_at) for row in rounds] == [False, True]


def test_a_round_is_not_moved_to_a_cart_that_had_no_lift_yet(yard):
    other = a_cart(yard.site, yard.manager, number="8")
    yard.fitted()
    row = a_round(yard.cart, **yard.who(1)).round
    fit(other, yard.kit, **yard.who(2))

    with pytest.raises(BeforeFitting):
        move_round(row, other, reason="wrong cart", **yard.who(3))
    assert Round.objects.standing(yard.who(3)["at"]).get() == row


def test_a_round_is_not_told_again_as_done_before_the_fitting(yard):
    yard.fitted()
    row = a_round(yard.cart, **yard.who(1)).round
    done = [(told("label", yard.cart), None)]
    again = TakenDown(new_id(), MORNING, MORNING + DAY, parts=done, corrects=row.pk)
    again.why_corrected = "typed"

    with pytest.raises(BeforeFitting):
        correct_round(row, again, **yard.who(2))


def test_nothing_is_recorded_that_is_yet_to_be_done(yard):
    yard.fitted()
    to_come = {"done_at": yard.at + timedelta(minutes=6), **yard.who()}
    acts = (
        lambda: a_round(yard.cart, **to_come),
        lambda: add_reading(yard.cart, hours=4, **to_come),
        lambda: tag_cart(yard.cart, "rim bent", **to_come),
        lambda: lay_up(yard.cart, **to_come),
        lambda: yard.fitted(done_at=to_come["done_at"]),
    )

    for act in acts:
        with pytest.raises(StillToCome):
            act()


def test_a_move_to_a_cart_without_its_lift_yet_keeps_what_was_typed(client, monkeypatch):
    shop = Shop(monkeypatch)
    shop.rounds(client, hours="412.0")
    shop.later(days=1)
    shop.lifted("8")
    client.force_login(shop.manager)

    page = shop.url("round-move", Round.objects.get().pk)
    answer = client.post(page, {"number": "8", "reason": "It was the 8"})

    form = answer.context["form"]
    assert form.errors == {"number": ["No lift was on that cart yet when the round was done."]}
    assert form["reason"].value() == "It was the 8"


@pytest.mark.parametrize(
    ("done_at", "said"),
    [
        ("2026-03-01T10:00", "That is before the cart came, or before its lift was fitted."),
        ("2026-03-02T08:30", "That is still to come."),
    ],
)
def test_the_page_says_it_kindly_and_keeps_what_was_typed(client, monkeypatch, done_at, said):
    shop = Shop(monkeypatch)

    page = shop.rounds(client, hours="412.0", done_at=done_at).context["page"]

    assert page.form.errors["done_at"] == [said]
    assert page.form["hours"].value() == "412.0"
    assert not Round.objects.exists()
