"""A part of a round that is asked answers on the page; nothing is saved, nothing is lost."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from fleet.models import Round
from tests.round_pages import Shop, typed

pytestmark = pytest.mark.django_db
CODE = "camber-toe"
WHOLE = "?whole"


@pytest.fixture
def shop(monkeypatch):
    return Shop(monkeypatch)


def asked(client, shop, ask=f"{CODE}:look", headers=None, **changes):
    page = shop.opened(client, query=WHOLE)
    said = {**typed(page, **changes), "ask": ask}
    return client.post(shop.url("round-create"), said, headers=headers or {})


def step_of(answer, code=CODE):
    return next(step for step in answer.context["page"].steps if step.part.code == code)


def test_what_is_asked_saves_nothing_and_is_answered_on_the_page(client, shop):
    answer = asked(client, shop, hours="412.0")

    assert answer.status_code == 200
    assert Round.objects.count() == 0
    assert step_of(answer).is_open
    assert "Measured so far" in answer.content.decode()
    assert answer.context["form"]["hours"].value() == "412.0"


def test_only_the_part_that_is_asked_names_mistakes(client, shop):
    wrong = {f"{CODE}-p1_rear_2": "", "brake-is_pedal_low": "", "hours": "twelve"}

    answer = asked(client, shop, **wrong)

    assert [(title, where) for where, title, _mistake in answer.context["mistakes"]] == [
        (step_of(answer).part.title, f"id_{CODE}-p1_rear_2")
    ]
    assert answer.context["form"]["hours"].value() == "twelve"


def test_the_script_is_given_that_part_alone(client, shop):
    answer = asked(client, shop, headers={"X-Part": CODE})

    page = answer.content.decode()
    assert next(template.name for template in answer.templates) == "fleet/_round_step.html"
    assert page.count('<details class="step') == 1
    assert "Measured so far" in page
    assert "<form" not in page


def test_the_script_need_send_no_other_part(client, shop):
    page = shop.opened(client, query=WHOLE)
    own = {name: said for name, said in typed(page).items() if name.startswith(f"{CODE}-")}
    said = {**own, "visit": page.visit.token, "ask": f"{CODE}:look"}

    answer = client.post(shop.url("round-create"), said, headers={"X-Part": CODE})

    assert answer.status_code == 200
    assert "Measured so far" in answer.content.decode()


@pytest.mark.parametrize("ask", ["brake:look", "no-such-part:look", "", ":"])
def test_a_part_that_answers_nothing_is_not_found(client, shop, ask):
    assert asked(client, shop, ask=ask).status_code == 404


def test_what_another_opened_is_not_answered(client, shop):
    page = shop.opened(client, query=WHOLE)
    client.force_login(shop.manager)

    answer = client.post(
        shop.url("round-create"), {**typed(page), "ask": f"{CODE}:look"}, headers={"X-Part": CODE}
    )

    assert answer.status_code == 409


def test_asking_takes_in_no_photo(client, shop):
    photo = SimpleUploadedFile("tape.jpg", b"no picture at all", "image/jpeg")

    answer = asked(client, shop, **{f"{CODE}-odd_photo": photo, f"{CODE}-p1_front_1": "34 7/8"})

    assert answer.status_code == 200
    assert "Did a whole inch" in answer.content.decode()


def test_a_part_told_again_is_asked_as_well(client, shop):
    shop.rounds(client, hours="412.0", **{f"{CODE}-driven": "on"})
    again = shop.opened(client, query=f"?corrects={Round.objects.get().pk}")

    said = {**typed(again), "ask": f"{CODE}:look", "why_corrected": "misread"}
    answer = client.post(shop.url("round-create"), said)

    assert "Measured so far" in answer.content.decode()
    assert Round.objects.count() == 1
