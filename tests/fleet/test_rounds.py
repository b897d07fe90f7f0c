"""A round from its page to its result, as the mechanic sends it."""

from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image

from fleet.actions.rounds import save_round
from fleet.actions.tags import hand_back
from fleet.models import Cart, Reading, Recheck, Round, Tag
from fleet.round_page import RoundPage
from fleet.visits import called_at, new_visit
from lifts.models import LabelCheck
from shared import clock, photos
from shared.facts import record
from shared.models import Photo, Role
from shared.viewer import Viewer
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site, with_role
from tests.round_pages import Shop, typed

pytestmark = pytest.mark.django_db
JPEG = b"\xff\xd8"


@pytest.fixture
def shop(monkeypatch):
    return Shop(monkeypatch)


def closed(shop):
    found = Recheck.objects.filter(cart=shop.cart, ended="closed")
    return sorted(found.values_list("kind_code", flat=True))


def test_a_whole_close_out_puts_the_cart_in_use_and_starts_the_first_check(client, shop):
    response = shop.rounds(client, hours="412.0", distance="1,850.0")

    assert response.status_code == 302, response.context["mistakes"]
    assert closed(shop) == ["fitting-close-out"]
    shop.cart.refresh_from_db()
    assert shop.cart.condition == "in use"


def close_out(client, shop):
    response = shop.rounds(client, hours="412.0", distance="1,850.0")
    assert response.status_code == 302


def on_board(response):
    return [row.what for section in response.context["sections"] for row in section.rows]


def test_the_first_check_moves_the_board_the_desk_and_the_next_day_at_once(client, shop):
    close_out(client, shop)
    shop.later(days=3)
    client.force_login(shop.manager)
    board = f"/{shop.site.slug}/board/"
    assert "First check" in on_board(client.get(board))

    response = shop.rounds(client, hours="416.0", distance="1,870.0")

    assert closed(shop) == ["first-check", "fitting-close-out", "label-check", "tyre-check"]
    client.force_login(shop.manager)
    assert "First check" not in on_board(client.get(board))
    result = client.get(response["Location"]).context["result"]
    assert {one["what"]: one["state"] for one in result.closed} == {
        "First check": "due",
        "Label check": "open",
        "Tyre check": "open",
    }
    by_meter = {one["what"]: one["by_meter"] for one in result.next}
    assert by_meter["Settle check"] == "437.0 h or 1,950.0 mi"


def test_a_second_press_is_the_same_round(client, shop):
    page = shop.opened(client)

    first = shop.sent(client, page, hours="412.0")
    shop.later(seconds=20)
    again = shop.sent(client, page, hours="412.0")

    assert first.status_code == again.status_code == 302
    assert first["Location"] == again["Location"]
    assert Round.objects.count() == 1
    assert Reading.objects.count() == 1


def test_a_second_press_waits_for_no_writer_and_writes_nothing(shop):
    visit = new_visit(shop.cart, Viewer(shop.mechanic, shop.at), called_at(shop.cart, shop.at))
    page = RoundPage(visit, shop.at, typed(RoundPage(visit, shop.at), hours="412.0"), {})
    assert page.is_valid()
    first = save_round(shop.cart, page.taken_down(), by=shop.mechanic, at=shop.at)

    with CaptureQueriesContext(connection) as asked:
        again = save_round(shop.cart, page.taken_down(), by=shop.mechanic, at=shop.at)

    words = {query["sql"].split()[0] for query in asked}
    assert (words, any("FOR UPDATE" in query["sql"] for query in asked)) == ({"SELECT"}, False)
    assert (first.first, again.first) == (True, False)
    assert [row.pk for row in again.closed] == [row.pk for row in first.closed] != []


def test_other_content_under_the_same_id_is_kept_on_the_page_and_not_saved(client, shop):
    shop.later(hours=3)
    page = shop.opened(client)
    shop.sent(client, page, hours="412.0")

    other = shop.sent(client, page, hours="413.0", note="the second one")

    assert other.status_code == 409
    assert other.context["form"]["hours"].value() == "413.0"
    assert other.context["form"]["note"].value() == "the second one"
    assert other.context["saved_round"].pk == page.visit.id
    assert Round.objects.count() == 1
    shop.later(hours=2)
    own = shop.sent(client, other.context["page"], hours="413.0", note="the second one")
    assert own.status_code == 302
    assert Round.objects.count() == 2


def test_a_page_that_another_person_opened_is_not_saved_under_a_new_name(client, shop):
    page = shop.opened(client)
    client.force_login(shop.manager)

    response = shop.sent(client, page, hours="412.0")

    assert response.status_code == 409
    assert response.context["page"].visit.by_id == shop.manager.pk
    assert Round.objects.count() == 0


def test_a_spoilt_page_loses_nothing_typed(client, shop):
    page = shop.opened(client)

    response = shop.sent(client, page, visit="spoilt", note="lugs were dusty")

    assert response.status_code == 409
    assert response.context["form"]["note"].value() == "lugs were dusty"
    assert shop.sent(client, response.context["page"], hours="412.0").status_code == 302


def test_mistakes_name_their_places_and_keep_what_was_typed(client, shop):
    page = shop.opened(client)

    response = shop.sent(client, page, **{"hours": "4l2", "brake-holds_on_slope": None})

    places = [where for where, _title, _message in response.context["mistakes"]]
    assert places == ["id_hours", "id_brake-holds_on_slope"]
    assert b'value="4l2"' in response.content
    assert b'href="#id_brake-holds_on_slope"' in response.content
    assert Round.objects.count() == 0


def test_a_mistake_at_a_wheel_names_the_wheel(client, shop):
    response = shop.rounds(client, **{"tyres-found-left_rear": "20 bar"})

    said = ["left rear: Pressure found: “20 bar” cannot be right here"]
    assert [message for _where, _title, message in response.context["mistakes"]] == said


def test_a_due_part_is_done_or_said_to_be_put_off(client, shop):
    page = shop.opened(client)
    speed = {f"speed-{name}": None for name in ("length", "time_1_s", "time_2_s")}

    silent = shop.sent(client, page, **speed)
    put_off = shop.sent(client, page, **speed, **{"speed-not_done": "on"})

    assert [where for where, *_ in silent.context["mistakes"]] == ["part-speed"]
    assert put_off.status_code == 302
    assert closed(shop) == []
    result = client.get(put_off["Location"]).context["result"]
    assert [(one.what, one.reasons) for one in result.left] == [
        ("Fitting close-out", ["Not recorded yet: speed run"])
    ]


def test_what_does_not_close_says_why_and_what_tags_says_so_large(client, shop):
    name = next(f for f in typed_names(shop.opened(client)) if f.endswith("is_pedal_low"))

    response = shop.rounds(client, **{name: "yes"})

    answer = client.get(response["Location"])
    assert [tag.reason for tag in answer.context["result"].tags] == ["Brake pedal low or soft"]
    assert answer.context["result"].left[0].reasons == ["Brake pedal low or soft"]
    assert b"TAGGED" in answer.content
    shop.cart.refresh_from_db()
    assert shop.cart.is_tagged


def test_a_tag_handed_back_is_not_said_to_keep_the_cart_out_of_use(client, shop):
    name = next(f for f in typed_names(shop.opened(client)) if f.endswith("is_pedal_low"))
    at = shop.rounds(client, **{name: "yes"})["Location"]

    hand_back(Tag.objects.get(), done="rod", repaired_by=None, by=shop.manager, at=clock.now())

    answer = client.get(at)
    assert (answer.context["result"].tags, b"The desk shows NO" in answer.content) == ([], False)
    assert "It had the cart tagged: Brake pedal low or soft. That tag is off now." in answer.text


def test_a_surveyor_is_led_to_no_tag_that_others_print(client, shop):
    name = next(f for f in typed_names(shop.opened(client)) if f.endswith("is_pedal_low"))
    at = shop.rounds(client, **{name: "yes"})["Location"]
    client.force_login(with_role(shop.cart.site, shop.manager, Role.SURVEYOR))

    answer = client.get(at)

    assert b"TAGGED" in answer.content and b"Print the tag" not in answer.content


def typed_names(page):
    return [field.html_name for step in page.steps for field in step.form]


def test_a_settle_check_that_only_a_forecast_opened_says_that_it_waits_for_use(client, shop):
    close_out(client, shop)
    shop.later(days=8)

    response = shop.rounds(client)

    result = client.get(response["Location"]).context["result"]
    assert [(one.what, one.reasons) for one in result.left] == [
        (
            "Settle check",
            ["Too early to count: the meters do not show the use it waits for."],
        )
    ]


def test_two_mechanics_at_once_are_both_kept_and_the_worst_rules(client, shop):
    one = shop.opened(client)
    other = shop.opened(client, by=shop.manager)
    shop.later(minutes=40)
    bad = shop.sent(client, other, **{"brake-cable_free": "no"})

    client.force_login(shop.mechanic)
    good = shop.sent(client, one)

    assert bad.status_code == good.status_code == 302
    assert Round.objects.count() == 2
    assert closed(shop) == []
    result = client.get(good["Location"]).context["result"]
    assert [row.by for row in result.met] == [shop.manager]
    assert result.left[0].reasons == ["Brake cable not free at full droop"]


def a_photo(colour="grey"):
    """Return an upload; each call reads from its start."""
    content = BytesIO()
    Image.new("RGB", (64, 48), colour).save(content, "JPEG")
    return SimpleUploadedFile("label.jpg", content.getvalue(), "image/jpeg")


def test_label_photos_are_kept_once_about_the_label_and_shown_on_the_page(client, shop):
    page = shop.opened(client)
    first = shop.sent(client, page, **{"label-photo_seat": a_photo()})

    again = shop.sent(client, page, **{"label-photo_seat": a_photo()})

    assert first["Location"] == again["Location"]
    photo = Photo.objects.get()
    assert photo.about == LabelCheck.objects.get().pk
    shown = client.get(f"/{shop.site.slug}/photos/{photo.pk}/")
    assert shown["Content-Type"] == "image/jpeg"
    assert b"".join(shown.streaming_content).startswith(JPEG)
    assert shop.opened(client).visit.cart.pk == photo.cart_id
    assert str(photo.pk).encode() in client.get(shop.url("round-create")).content


def test_one_good_photo_is_not_taken_in_for_another_cart(client, shop):
    other = shop.lifted("8")
    shop.rounds(client, **{"label-photo_close": a_photo()})

    page = shop.opened(client, cart=other)
    response = shop.sent(client, page, **{"label-photo_close": a_photo()})

    said = "this very photo was taken in at cart 7 on Mon Mar 2; take a new one."
    assert photo_mistakes(response) == [f"label close up: {said}"]
    assert b"Photos must be chosen again." in response.content
    assert Photo.objects.count() == 1


def photo_mistakes(response):
    return [message for _where, _title, message in response.context["mistakes"]]


def test_the_same_carts_own_photo_is_refused_by_its_day(client, shop):
    shop.rounds(client, **{"label-photo_close": a_photo()})

    response = shop.rounds(client, **{"label-photo_close": a_photo()})

    said = "this very photo was taken in on Mon Mar 2 already; take a new one."
    assert photo_mistakes(response) == [f"label close up: {said}"]


def a_photo_at_another_site(number):
    site, manager = a_site("quay")
    cart = a_cart(site, manager, number)
    about = {"shows": Photo.Shows.LABEL_CLOSE, "cart_id": cart.pk, "by": manager, "site": site}
    record(photos.take(a_photo(), **about), at=MORNING)
    return cart, manager


def test_another_sites_photo_is_refused_without_a_word_of_its_cart(client, shop):
    a_photo_at_another_site("foreign-70")

    response = shop.rounds(client, **{"label-photo_close": a_photo()})

    said = "this very photo was taken in at another site already; take a new one."
    assert photo_mistakes(response) == [f"label close up: {said}"]
    assert "foreign-70" not in response.text
    assert Photo.objects.count() == 1


def test_a_cart_moved_away_is_not_named_to_its_former_site(client, shop):
    other = shop.lifted("8")
    page = shop.opened(client, cart=other)
    shop.sent(client, page, **{"label-photo_close": a_photo()})
    elsewhere, _manager = a_site("quay")
    Cart.objects.filter(pk=other.pk).update(site=elsewhere, number="renamed-80")

    response = shop.rounds(client, **{"label-photo_close": a_photo()})

    said = "this very photo was taken in on Mon Mar 2 already; take a new one."
    assert photo_mistakes(response) == [f"label close up: {said}"]


def test_what_is_no_photo_is_refused_in_words(client, shop):
    text = SimpleUploadedFile("label.jpg", b"no photo at all", "image/jpeg")

    response = shop.rounds(client, **{"label-photo_seat": text})

    messages = [message for _where, _title, message in response.context["mistakes"]]
    assert messages == ["label seen from the seat: This is not a whole JPEG, PNG or WebP photo."]
    assert Round.objects.count() == 0


def test_a_round_at_half_past_eleven_of_the_due_day_is_on_time(client, shop):
    close_out(client, shop)
    shop.later(days=3, hours=14, minutes=30)  # 5 March, 23:30 at the site

    response = shop.rounds(client, hours="416.0")

    assert response.status_code == 302
    first_check = Recheck.objects.get(cart=shop.cart, kind_code="first-check", ended="closed")
    assert str(first_check.due_on) == "2026-03-05"
    assert first_check.ended_state == "due"


def test_an_hour_later_the_same_round_is_late(client, shop):
    close_out(client, shop)
    shop.later(days=4, hours=16, minutes=30)  # 7 March, 00:30 at the site

    shop.rounds(client, hours="416.0")

    assert Recheck.objects.get(kind_code="first-check", ended="closed").ended_state == "late"


def test_a_round_page_costs_the_same_however_much_happened(client, shop):
    close_out(client, shop)
    shop.later(days=3)
    with CaptureQueriesContext(connection) as before:
        shop.opened(client)
    shop.rounds(client, hours="416.0")
    shop.later(days=20)

    with CaptureQueriesContext(connection) as after:
        shop.opened(client)

    assert len(after) == len(before)
