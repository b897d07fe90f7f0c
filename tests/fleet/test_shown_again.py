"""What was typed at a cart and kept on a phone comes back whole; nothing of it is saved by that."""

import pytest

from fleet.models import Round
from tests.round_pages import Shop, typed

pytestmark = pytest.mark.django_db
SHEET = "camber-toe"
SECOND = {"passes": "2", "p2_step": "rod", "p2_left_turn": "4", "p2_front_1": "35 7/8"}
PHOTOS = "Photos must be chosen again."


@pytest.fixture
def shop(monkeypatch):
    return Shop(monkeypatch)


def shown(client, shop, page, cart=None, **changes):
    said = {**typed(page, **changes), "ask": "round:shown"}
    return client.post(shop.url("round-create", cart=cart), said)


def step_of(answer, code):
    return next(step for step in answer.context["page"].steps if step.part.code == code)


def test_all_that_was_typed_comes_back_and_is_not_saved(client, shop):
    page = shop.opened(client, query="?whole")

    answer = shown(client, shop, page, hours="412.0", note="lugs were dusty")

    assert answer.status_code == 200
    assert Round.objects.count() == 0
    form = answer.context["form"]
    assert (form["hours"].value(), form["note"].value()) == ("412.0", "lugs were dusty")
    assert step_of(answer, "brake").form["is_pedal_low"].value() == "no"
    assert f'data-visit="{page.visit.id}" data-bound' in answer.text


def test_what_was_half_typed_names_no_mistakes(client, shop):
    page = shop.opened(client)
    half = {"hours": "twelve", "cautions": None, "brake-holds_on_slope": None}

    answer = shown(client, shop, page, **half, **{f"{SHEET}-p1_rear_2": "soon"})

    assert answer.context["mistakes"] == []
    assert "errorlist" not in answer.text
    assert answer.context["form"]["hours"].value() == "twelve"


def test_every_pass_of_the_sheet_comes_back(client, shop):
    page = shop.opened(client, query="?whole")

    answer = shown(client, shop, page, **{f"{SHEET}-{name}": said for name, said in SECOND.items()})

    form = step_of(answer, SHEET).form
    assert form.pass_count == 2
    assert {name: form[name].value() for name in SECOND} == SECOND
    assert f'name="{SHEET}-p2_front_1" value="35 7/8"' in answer.text


def test_brought_back_and_saved_twice_it_is_one_round_under_its_id(client, shop):
    page = shop.opened(client)
    shop.later(hours=2)
    again = shown(client, shop, page, hours="412.0").context["page"]

    first, second = (shop.sent(client, again, hours="412.0") for _press in range(2))

    assert first["Location"] == second["Location"]
    assert [one.pk for one in Round.objects.all()] == [page.visit.id]


def test_photos_that_had_been_chosen_are_asked_for_again(client, shop):
    page = shop.opened(client)

    assert PHOTOS in shown(client, shop, page, photos_chosen="on").text.split("</template>")[1]
    assert PHOTOS not in shown(client, shop, page).text.split("</template>")[1]


def test_what_another_opened_is_shown_as_a_round_of_its_own(client, shop):
    page = shop.opened(client)
    client.force_login(shop.manager)

    answer = shown(client, shop, page, note="lugs were dusty")

    assert answer.status_code == 409
    assert answer.context["form"]["note"].value() == "lugs were dusty"
    assert answer.context["page"].visit.id != page.visit.id
    assert answer.context["page"].visit.by_id == shop.manager.pk


def test_a_spoilt_token_and_another_carts_are_not_taken(client, shop):
    page, other = shop.opened(client), shop.lifted("8")

    spoilt = shown(client, shop, page, visit="spoilt", note="dusty")
    elsewhere = shown(client, shop, page, cart=other, note="dusty")

    assert [spoilt.status_code, elsewhere.status_code] == [409, 409]
    assert elsewhere.context["page"].visit.cart == other
    assert elsewhere.context["form"]["note"].value() == "dusty"
    assert Round.objects.count() == 0


def test_a_round_told_again_is_kept_apart_and_comes_back_so(client, shop):
    shop.rounds(client, hours="412.0")
    told = Round.objects.get()
    page = shop.opened(client, query=f"?corrects={told.pk}")

    answer = shown(client, shop, page, why_corrected="misread")

    assert f'data-keep-typed="{shop.cart.pk}+{told.pk}"' in answer.text
    assert answer.context["form"]["why_corrected"].value() == "misread"
    assert answer.context["mistakes"] == []
    assert Round.objects.count() == 1


def test_a_saved_round_names_its_id_so_that_the_phone_forgets(client, shop):
    saved = shop.rounds(client, hours="412.0")

    page = client.get(saved["Location"])

    assert f'data-saved-round="{Round.objects.get().pk}"' in page.text
    assert "fleet/keep-typed" in page.text
