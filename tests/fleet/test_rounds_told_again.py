"""A round told again in part: what is not told again stays as it was."""

from decimal import Decimal
from types import SimpleNamespace

import pytest

from fleet.actions import project
from fleet.calls import calls_at
from fleet.models import Cart, Reading, Recheck, Round, Tag
from fleet.reminding import Stage
from lifts.models import BrakeCheck, JointPart, LabelCheck, Look
from lifts.parts.brake_form import RUN_FIELDS
from shared.models import Photo, Strike
from tests.fleet.test_rounds import a_photo
from tests.round_pages import GOOD, Shop

pytestmark = pytest.mark.django_db
LOW_PEDAL = {"brake-is_pedal_low": "yes"}
BRAKE_GOOD = {
    "brake-is_pedal_low": "no",
    "brake-holds_on_slope": "yes",
    "brake-cable_free": "yes",
}


@pytest.fixture
def shop(monkeypatch):
    return Shop(monkeypatch)


def opened_again(client, shop, row=None):
    row = row or Round.objects.latest("received_at")
    shop.later(days=1)
    return shop.opened(client, by=shop.manager, query=f"?corrects={row.pk}")


def said_again(client, shop, page, **said):
    """Send a correction's page with nothing filled in but what is said."""
    data = {"visit": page.visit.token, "cautions": "on", "why_corrected": "a slip", **said}
    return client.post(shop.url("round-create"), data)


def standing(model, shop):
    return model.objects.standing(shop.at)


def close_out(shop):
    return Recheck.objects.get(cart=shop.cart, kind_code="fitting-close-out").ended


def looks(part):
    names = ("place", "name", "found", "pin", "right_after", "joint_id")
    return list(Look.objects.filter(fact=part).order_by("place").values_list(*names))


def test_a_meter_told_again_leaves_every_part_as_it_was(client, shop):
    shop.rounds(client, hours="412.0", distance="1852")
    before = JointPart.objects.get()

    sent = said_again(client, shop, opened_again(client, shop), hours="412.5")

    assert sent.status_code == 302
    after = standing(JointPart, shop).get()
    assert after.corrects == before.pk and looks(after) == looks(before)
    assert (after.stage, after.offered, after.done_at) == (
        before.stage,
        before.offered,
        before.done_at,
    )
    reading = standing(Reading, shop).get()
    assert (reading.hours_shown, reading.distance_shown) == (Decimal("412.5"), Decimal(1852))
    assert reading.typed == "412.5; 1852"
    assert Strike.objects.count() == 0
    assert close_out(shop) == "closed"
    assert project.differences([shop.cart.pk]) == []


def test_a_part_told_again_leaves_the_others_and_the_reading(client, shop):
    shop.rounds(client, hours="412.0", **LOW_PEDAL)
    label = LabelCheck.objects.get()

    said_again(client, shop, opened_again(client, shop), **BRAKE_GOOD)

    assert not standing(BrakeCheck, shop).get().is_pedal_low
    assert standing(LabelCheck, shop).get().corrects == label.pk
    assert standing(Reading, shop).get().hours_shown == Decimal(412)
    assert standing(Tag, shop).count() == 0
    assert not Cart.objects.get(pk=shop.cart.pk).is_tagged


def test_the_tag_of_a_part_that_stays_stays_on(client, shop):
    shop.rounds(client, hours="412.0", **LOW_PEDAL)

    said_again(client, shop, opened_again(client, shop), hours="412.5")

    tag = standing(Tag, shop).get()
    assert tag.reason == "Brake pedal low or soft" and tag.is_critical
    assert Cart.objects.get(pk=shop.cart.pk).is_tagged
    assert project.differences([shop.cart.pk]) == []


def test_a_part_that_was_not_done_is_taken_back_alone(client, shop):
    shop.rounds(client, hours="412.0", **LOW_PEDAL)

    said_again(client, shop, opened_again(client, shop), **{"brake-not_done": "on"})

    assert standing(BrakeCheck, shop).count() == 0
    assert standing(LabelCheck, shop).count() == 1
    assert standing(Tag, shop).count() == 0
    assert close_out(shop) == ""


def test_photos_stay_with_the_part_whether_it_is_told_again_or_not(client, shop):
    shop.rounds(client, hours="412.0", **{"label-photo_close": a_photo()})
    said_again(client, shop, opened_again(client, shop), hours="412.5")
    kept = standing(Photo, shop).get()
    label = standing(LabelCheck, shop).get()
    answers = {"label-as_it_should_be": "on", "label-position": "dash"}

    said_again(client, shop, opened_again(client, shop), **answers)

    assert kept.about == label.pk
    again = standing(LabelCheck, shop).get()
    assert again.position == "dash"
    assert standing(Photo, shop).get().about == again.pk


def test_a_round_put_at_another_time_takes_all_of_it_along(client, shop):
    shop.later(hours=2)
    shop.rounds(client, hours="412.0")
    earlier = "2026-03-02T09:00"

    sent = said_again(client, shop, opened_again(client, shop), done_at=earlier)

    assert sent.status_code == 302, sent.context["page"].form.errors
    row = standing(Round, shop).get()
    facts = [standing(model, shop).get() for model in (JointPart, BrakeCheck, Reading)]
    assert {fact.done_at for fact in facts} == {row.done_at}
    assert row.done_at < Round.objects.get(pk=row.corrects).done_at


def test_the_page_has_the_parts_of_the_round_first_and_asks_for_none(client, shop):
    shop.rounds(client, hours="412.0", **{"label-not_done": "on"})
    row = Round.objects.get()
    client.force_login(shop.manager)

    response = client.get(shop.url("round-create") + f"?corrects={row.pk}")

    steps = response.context["page"].steps
    held = [step.held is not None for step in steps]
    assert held == sorted(held, reverse=True) and not all(held)
    assert not any(step.is_first or step.is_open for step in steps)
    page = response.content.decode()
    assert "What you do not tell again stays as it was." in page
    assert "This round: 412.0 h. Left empty, it stays." in page
    assert "holds, cable free" in page
    assert "not in that round; may be added" in page and "Due now:" not in page


def test_a_part_that_the_round_lacked_is_added(client, shop):
    shop.rounds(client, hours="412.0", **{"brake-not_done": "on"})
    assert close_out(shop) == ""

    runs = {f"brake-{name}": GOOD[name][0] for name in RUN_FIELDS}
    said_again(client, shop, opened_again(client, shop), **BRAKE_GOOD, **runs)

    assert standing(BrakeCheck, shop).count() == 1
    assert close_out(shop) == "closed"


def test_a_correction_that_changes_nothing_is_refused(client, shop):
    shop.rounds(client, hours="412.0", note="Front tyre new")

    page = opened_again(client, shop)
    empty = said_again(client, shop, page, note="Front tyre new")
    same = said_again(client, shop, page, note="Front tyre new", hours="412")

    for sent in (empty, same):
        assert sent.status_code == 200
        assert "so nothing was saved" in sent.content.decode()
    assert Round.objects.count() == 1


def test_a_part_told_again_names_the_fields_that_are_missing(client, shop):
    shop.rounds(client, hours="412.0")

    page = opened_again(client, shop)
    again = {f"stay-{code}-stays": "again" for code in ("brake", "tyres")}
    sent = said_again(client, shop, page, **again)

    missing = [mistake for _where, _title, mistake in sent.context["mistakes"]]
    assert "Is the pedal low or soft?: This field is required." in missing
    assert "left rear: Tread: say what was found" in missing
    assert len(missing) == len(set(missing)) == 3 + 4 * 2


def test_what_was_pressed_by_mistake_can_be_left_out(client, shop):
    shop.rounds(client, hours="412.0")
    pressed = {"hours": "412.5", "brake-is_pedal_low": "yes"}

    page = opened_again(client, shop)
    asked = said_again(client, shop, page, **pressed)
    left = said_again(client, shop, page, **pressed, **{"stay-brake-stays": "kept"})

    assert "leave out what is filled in below" in asked.content.decode()
    assert left.status_code == 302
    assert not standing(BrakeCheck, shop).get().is_pedal_low


def test_a_sheet_told_again_without_a_reading_is_asked_for(client, shop):
    shop.rounds(client, hours="412.0")

    page = opened_again(client, shop)
    sent = said_again(
        client, shop, page, **{"stay-camber-toe-stays": "again", "camber-toe-mark": "1/32 in"}
    )

    assert sent.status_code == 200 and sent.context["mistakes"]
    assert Round.objects.count() == 1


def test_the_same_correction_sent_twice_is_one(client, shop):
    shop.rounds(client, hours="412.0", **LOW_PEDAL)
    page = opened_again(client, shop)

    first, again = (said_again(client, shop, page, hours="412.5") for _time in (1, 2))

    assert first["Location"] == again["Location"]
    assert (Round.objects.count(), LabelCheck.objects.count()) == (2, 2)


def test_a_round_told_again_does_not_meet_its_own_tellings(client, shop):
    shop.rounds(client, hours="412.0")
    first = Round.objects.get()
    said_again(client, shop, opened_again(client, shop), hours="412.5")

    for row in Round.objects.all():
        page = client.get(shop.url("round-detail", row.pk))
        assert page.context["result"].met == []
        assert "Two rounds at once" not in page.content.decode()
    here = SimpleNamespace(site=shop.site, today=shop.site.day(shop.at))
    assert Stage.TWO_ROUNDS not in [call.stage for call in calls_at({}, here, shop.at)]
    assert Round.objects.get(corrects=first.pk).opened_at == first.opened_at


def test_an_untouched_part_is_asked_for_nothing_when_another_has_a_mistake(client, shop):
    page = shop.opened(client, query="?whole")
    others = [step for step in page.steps if not step.is_first]
    assert others
    empty = {field.html_name: None for step in others for field in step.form}

    sent = shop.sent(client, page, hours="no figure", **empty)

    assert [title for _where, title, _mistake in sent.context["mistakes"]] == ["Round"]
    assert not any(step.is_open for step in sent.context["page"].steps if not step.is_first)
