import io
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from fleet.actions import sites
from fleet.actions.tags import HandedBack, hand_back, tag_cart
from fleet.models import HandBack, Tag
from shared import clock
from shared.facts import strike
from shared.models import Photo, Role, new_id
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site, with_role

pytestmark = pytest.mark.django_db


@pytest.fixture
def here():
    return a_site()


@pytest.fixture
def cart(here):
    return a_cart(*here)


@pytest.fixture
def mechanic(here):
    return with_role(*here)


@pytest.fixture
def signed_in(client, mechanic):
    client.force_login(mechanic)
    return client


def may_release(site, manager, person):
    first = site.day(MORNING)
    sites.give_role(
        site, person, Role.MECHANIC, first, None, by=manager, at=MORNING, may_release=True
    )


def photo():
    file = io.BytesIO()
    Image.new("RGB", (40, 30), "grey").save(file, "JPEG")
    return SimpleUploadedFile("tag.jpg", file.getvalue(), "image/jpeg")


def tag_by_form(client, cart, **changes):
    values = {"id": new_id(), "reason": "Left front hub play", "is_critical": "yes"}
    url = reverse("tag-create", args=[cart.site.slug, cart.pk])
    return client.post(url, values | changes)


def hand_back_by_form(client, tag, **changes):
    values = {"id": new_id(), "done": "New bearing", "repaired_by": "somebody else"}
    values |= {"drive_note": "Ten minutes, quiet"}
    url = reverse("hand-back", args=[tag.site.slug, tag.pk])
    return client.post(url, values | changes)


def test_a_mechanic_tags_a_cart_with_a_photo(signed_in, cart, mechanic):
    response = tag_by_form(signed_in, cart, photo=photo(), key_place="Office hook 3")

    tag = Tag.objects.get()
    cart.refresh_from_db()
    shown = Photo.objects.get()
    assert response.url == reverse("tag-card", args=[cart.site.slug, tag.pk])
    assert cart.is_tagged
    assert (tag.by, tag.is_critical, tag.key_place) == (mechanic, True, "Office hook 3")
    assert (shown.about, shown.cart_id, shown.shows) == (tag.pk, cart.pk, Photo.Shows.TAG)


def test_where_the_tag_hangs_is_kept_and_on_its_card(signed_in, cart):
    response = tag_by_form(signed_in, cart, hangs_at="Steering wheel")

    assert Tag.objects.get().hangs_at == "Steering wheel"
    assert "<dd>Steering wheel</dd>" in signed_in.get(response.url).text


def test_a_card_has_room_to_write_where_it_hangs(signed_in, cart, mechanic):
    tag = tag_cart(cart, "Rim bent", by=mechanic, at=MORNING)

    shown = signed_in.get(reverse("tag-card", args=[cart.site.slug, tag.pk])).text

    assert '<dt>Hangs at</dt><dd><span class="write"></span></dd>' in shown
    assert "wire or a cable tie" in shown


def test_the_same_form_sent_twice_tags_once(signed_in, cart):
    same = new_id()

    first = tag_by_form(signed_in, cart, id=same, photo=photo())
    second = tag_by_form(signed_in, cart, id=same, photo=photo())

    assert first.url == second.url
    assert (Tag.objects.count(), Photo.objects.count()) == (1, 1)


def test_a_form_sent_again_with_another_reason_asks_before_it_tags_for_that_too(signed_in, cart):
    same = new_id()
    tag_by_form(signed_in, cart, id=same)

    asked = tag_by_form(signed_in, cart, id=same, reason="No brake light")
    tag_by_form(signed_in, cart, id=asked.context["form"]["id"].value(), reason="No brake light")

    assert "Press again only if this is to be recorded as well." in asked.content.decode()
    reasons = Tag.objects.order_by("id").values_list("reason", flat=True)
    assert list(reasons) == ["Left front hub play", "No brake light"]


@pytest.mark.parametrize(
    "changes",
    [
        {"reason": ""},
        {"is_critical": ""},
        {"photo": SimpleUploadedFile("tag.jpg", b"no photo", "image/jpeg")},
    ],
)
def test_a_form_that_is_wrong_tags_nothing(signed_in, cart, changes):
    response = tag_by_form(signed_in, cart, **changes)

    assert response.status_code == 200
    assert response.text.count('class="errorlist"') == 1
    assert (Tag.objects.count(), Photo.objects.count()) == (0, 0)


def test_the_card_says_what_is_wrong_and_whom_to_ask(signed_in, here, cart, mechanic):
    manager = here[1]
    named = with_role(*here)
    may_release(*here, named)
    tag = tag_cart(cart, "Rim bent", by=mechanic, at=MORNING, key_place="Hook 3")

    shown = signed_in.get(reverse("tag-card", args=[cart.site.slug, tag.pk]))

    assert shown.context["releasers"] == sorted([manager, named], key=lambda person: person.name)
    for words in ("Must not run", "Rim bent", "Hook 3", "03/02/2026 08:00", mechanic.name):
        assert words in shown.text


def test_the_list_has_open_tags_of_the_site_alone(signed_in, here, cart, mechanic):
    tag = tag_cart(cart, "Rim bent", by=mechanic, at=MORNING)
    back = tag_cart(a_cart(*here, number="8"), "Pin missing", by=mechanic, at=MORNING)
    hand_back(back, done="New pin", repaired_by=None, by=here[1], at=MORNING)
    struck = tag_cart(a_cart(*here, number="9"), "Mistaken", by=mechanic, at=MORNING)
    strike(struck, reason="Wrong cart", by=mechanic, at=MORNING)
    there = a_site("canary")
    tag_cart(a_cart(*there, number="C7"), "Canary", by=there[1], at=MORNING)

    response = signed_in.get(reverse("tag-list", args=[cart.site.slug]))

    assert [row.record for row in response.context["table"].rows] == [tag]
    assert [row.record.tag for row in response.context["ended"].rows] == [back]
    assert "Canary" not in response.text


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_costs_the_same_however_many(
    signed_in, here, mechanic, count, django_assert_num_queries
):
    for number in range(count):
        tag_cart(a_cart(*here, number=str(number)), "Rim bent", by=mechanic, at=MORNING)
        back = tag_cart(a_cart(*here, number=f"B{number}"), "Pin", by=mechanic, at=MORNING)
        hand_back(back, done="New pin", repaired_by=mechanic, by=here[1], at=MORNING)
    url = reverse("tag-list", args=[here[0].slug])

    with django_assert_num_queries(7):
        response = signed_in.get(url)

    assert len(response.context["table"].rows) == count


def test_the_list_as_csv(signed_in, cart, mechanic):
    tag_cart(cart, "Rim bent", by=mechanic, at=MORNING, is_critical=True)

    response = signed_in.get(reverse("tag-list", args=[cart.site.slug]), {"file": "csv"})

    lines = b"".join(response.streaming_content).decode("utf-8-sig").splitlines()
    assert lines[1] == f"7,2026-03-02T13:00:00+00:00,Rim bent,True,{mechanic.name},"


@pytest.mark.parametrize("who", ["manager", "named", "mechanic"])
def test_managers_and_those_named_hand_back(client, here, cart, mechanic, who):
    site, manager = here
    if who == "named":
        may_release(site, manager, mechanic)
    tag = tag_cart(cart, "Rim bent", by=mechanic, at=MORNING)
    client.force_login(manager if who == "manager" else mechanic)

    response = hand_back_by_form(client, tag)

    cart.refresh_from_db()
    listed = client.get(reverse("tag-list", args=[site.slug])).text
    if who == "mechanic":
        assert (response.status_code, cart.is_tagged) == (404, True)
        assert "/hand-back/" not in listed
    else:
        assert (response.status_code, cart.is_tagged) == (302, False)


def test_one_who_did_a_critical_repair_is_asked_and_marked(client, here, cart):
    site, manager = here
    tag = tag_cart(cart, "Rack bolt slack", by=manager, at=MORNING, is_critical=True)
    client.force_login(manager)
    first = client.get(reverse("hand-back", args=[site.slug, tag.pk]))
    assert "same_person" not in first.text

    asked = hand_back_by_form(client, tag, repaired_by=manager.pk)
    assert (asked.status_code, HandBack.objects.count()) == (200, 0)
    assert 'name="same_person"' in asked.text
    hand_back_by_form(client, tag, repaired_by=manager.pk, same_person="on")

    assert HandBack.objects.get().is_same_person
    assert "released by the same person" in client.get(reverse("tag-list", args=[site.slug])).text


@pytest.mark.parametrize("critical", [True, False])
def test_another_is_not_asked_and_not_marked(client, here, cart, mechanic, critical):
    manager = here[1]
    tag = tag_cart(cart, "Rack bolt slack", by=manager, at=MORNING, is_critical=critical)
    client.force_login(manager)

    response = hand_back_by_form(client, tag, repaired_by=mechanic.pk if critical else manager.pk)

    assert response.status_code == 302
    assert HandBack.objects.get().is_same_person == (not critical)


@pytest.mark.parametrize(("critical", "status"), [(True, 200), (False, 302)])
def test_a_critical_one_needs_a_drive(client, here, cart, critical, status):
    tag = tag_cart(cart, "Rack bolt slack", by=here[1], at=MORNING, is_critical=critical)
    client.force_login(here[1])

    assert hand_back_by_form(client, tag, drive_note="").status_code == status


def test_who_repaired_is_said_and_is_of_the_site(client, here, cart):
    tag = tag_cart(cart, "Rim bent", by=here[1], at=MORNING)
    foreign = a_site("elsewhere")[1]
    client.force_login(here[1])

    for wrong in ("", foreign.pk):
        assert hand_back_by_form(client, tag, repaired_by=wrong).status_code == 200
    hand_back_by_form(client, tag, repaired_by="somebody else")
    assert HandBack.objects.get().repaired_by is None


def test_a_second_hand_back_is_told_so(client, here, cart):
    tag = tag_cart(cart, "Rim bent", by=here[1], at=MORNING)
    client.force_login(here[1])
    same = new_id()

    hand_back_by_form(client, tag, id=same)
    again = hand_back_by_form(client, tag, id=same)
    other = hand_back_by_form(client, tag)
    changed = hand_back_by_form(client, tag, id=same, done="Something else")

    assert {response.status_code for response in (again, other, changed)} == {302}
    assert HandBack.objects.count() == 1
    page = client.get(reverse("tag-list", args=[cart.site.slug])).text
    assert page.count("was handed back already") == 2


def test_a_cart_with_another_tag_is_not_said_to_be_handed_back(client, here, cart):
    tag = tag_cart(cart, "Rim bent", by=here[1], at=MORNING)
    last = tag_cart(cart, "Pedal low", by=here[1], at=MORNING)
    client.force_login(here[1])
    asked = client.get(reverse("hand-back", args=[cart.site.slug, tag.pk])).text

    hand_back_by_form(client, tag)
    kept = client.get(reverse("tag-list", args=[cart.site.slug])).text
    hand_back_by_form(client, last)
    free = client.get(reverse("tag-list", args=[cart.site.slug])).text

    assert "Another tag stays on" in asked
    assert f"Cart {cart} has another and must not run: Pedal low" in kept
    assert f"Cart {cart} is handed back." not in kept
    assert f"Cart {cart} is handed back." in free


def test_a_hand_back_that_was_struck_leaves_the_tag_to_be_answered(here, cart):
    manager = here[1]
    tag = tag_cart(cart, "Rim bent", by=manager, at=MORNING)
    first = hand_back(tag, done="Nothing", repaired_by=None, by=manager, at=MORNING)
    with pytest.raises(HandedBack):
        hand_back(tag, done="New rim", repaired_by=None, by=manager, at=MORNING)
    strike(first, reason="Wrong tag", by=manager, at=MORNING)

    hand_back(tag, done="New rim", repaired_by=None, by=manager, at=MORNING + timedelta(minutes=1))

    cart.refresh_from_db()
    assert not cart.is_tagged


def test_tags_of_another_site_are_not_found(client, here):
    there = a_site("elsewhere")
    foreign = a_cart(*there)
    tag = tag_cart(foreign, "Rim bent", by=there[1], at=MORNING)
    client.force_login(here[1])
    slug = here[0].slug

    for name, pk in (("tag-card", tag.pk), ("hand-back", tag.pk), ("tag-create", foreign.pk)):
        assert client.get(reverse(name, args=[slug, pk])).status_code == 404


def test_the_desk_reads_the_list_and_the_card_only(client, here, cart, mechanic):
    tag = tag_cart(cart, "Rim bent", by=mechanic, at=clock.now())
    client.force_login(with_role(*here, role=Role.DESK))
    slug = cart.site.slug

    assert client.get(reverse("tag-list", args=[slug])).status_code == 200
    assert client.get(reverse("tag-card", args=[slug, tag.pk])).status_code == 200
    assert tag_by_form(client, cart).status_code == 404
    assert hand_back_by_form(client, tag).status_code == 404
