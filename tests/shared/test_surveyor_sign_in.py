"""The way in of a surveyor: a link, a code, and what ends it."""

from datetime import timedelta

import pytest
from django.contrib.sessions.models import Session
from django.urls import reverse

from fleet.actions import sites
from shared import actions, clock
from shared.models import Role, SignInTry, SurveyorLink
from shared.surveyor_code import ALPHABET, new_code, plain_code, spelled
from tests.factories import MORNING, PersonFactory
from tests.lift_factories import a_site
from tests.surveying import DAY, come_in, link_for, open_link, surveys, type_code

pytestmark = pytest.mark.django_db
WRONG = "22222 22222"


@pytest.fixture
def here():
    return a_site(name="Harbour Inn")


@pytest.fixture
def ansel(here):
    return surveys(*here)


@pytest.fixture
def link(here, ansel):
    """The token and the code of Ansel's link."""
    return link_for(ansel, here[1])


def is_in(client):
    return "_auth_user_id" in client.session


def survey(site):
    return reverse("survey", args=[site.slug])


def test_link_and_code_let_in_to_the_first_page(client, here, link):
    token, code = link

    asked = open_link(client, token)
    page = client.post(reverse("surveyor-code"), {"code": code}, follow=True)

    assert asked.redirect_chain == [("/s/", 302)]
    assert [url for url, _status in page.redirect_chain] == ["/", "/harbour/", "/harbour/surveyor/"]
    assert "Harbour Inn" in page.text


def test_until_the_code_is_right_nobody_and_no_site_is_named(client, here, ansel, link):
    pages = [open_link(client, link[0]), type_code(client, WRONG)]

    for page in pages:
        assert page.status_code == 200
        assert page["Cache-Control"].find("no-store") >= 0
        for word in (ansel.name, ansel.email, here[0].name, here[1].name, link[0]):
            assert word not in page.text
    assert "This code does not go with the link." in pages[1].text
    assert not is_in(client)


@pytest.mark.parametrize("change", [str.lower, lambda code: code.replace(" ", "-"), plain_code])
def test_the_code_may_be_typed_as_it_comes(client, link, change):
    open_link(client, link[0])

    assert type_code(client, change(link[1])).status_code == 302
    assert is_in(client)


def test_a_code_without_its_link_is_nothing(client, here, ansel, link):
    other = surveys(*here, person=PersonFactory())
    _token, others_code = link_for(other, here[1])

    assert "does not let in" in type_code(client, link[1]).text
    open_link(client, link[0])
    assert type_code(client, others_code).status_code == 200
    assert not is_in(client)


@pytest.mark.parametrize("spoil", ["unknown", "withdrawn", "newer"])
def test_a_link_that_does_not_hold_asks_for_no_code(client, here, ansel, link, spoil):
    token = "x" * 43 if spoil == "unknown" else link[0]
    if spoil == "withdrawn":
        actions.withdraw_links(ansel, by=here[1], at=clock.now())
    if spoil == "newer":
        link_for(ansel, here[1])

    page = open_link(client, token)

    assert "does not let in" in page.text
    assert 'name="code"' not in page.text


def test_a_link_withdrawn_between_opening_and_code_lets_in_no_more(client, here, ansel, link):
    open_link(client, link[0])
    actions.withdraw_links(ansel, by=here[1], at=clock.now())

    assert "does not let in" in type_code(client, link[1]).text
    assert not is_in(client)


def test_the_session_is_new_and_ends_after_eight_hours_whatever_is_looked_at(client, here, link):
    open_link(client, link[0])
    before = client.session.session_key

    type_code(client, link[1])

    row = Session.objects.get(pk=client.session.session_key)
    assert client.session.session_key != before
    assert row.expire_date <= clock.now() + timedelta(hours=8)
    assert row.expire_date > clock.now() + timedelta(hours=7, minutes=55)
    ends_at = row.expire_date
    session = client.session
    session["touched"] = True
    session.save()
    row.refresh_from_db()
    assert row.expire_date == ends_at
    Session.objects.update(expire_date=clock.now() - timedelta(seconds=1))
    assert client.get(survey(here[0])).url.startswith("/sign-in/")


@pytest.mark.parametrize("end", ["withdrawn", "newer"])
def test_a_withdrawn_link_ends_the_session_with_the_next_page(client, here, ansel, link, end):
    come_in(client, *link)
    assert client.get(survey(here[0])).status_code == 200

    if end == "withdrawn":
        actions.withdraw_links(ansel, by=here[1], at=clock.now())
    else:
        link_for(ansel, here[1])

    assert client.get(survey(here[0])).url.startswith("/sign-in/")
    assert not is_in(client)


def test_a_role_ended_by_the_manager_shows_nothing_at_once(client, here, ansel, link):
    come_in(client, *link)
    yesterday = here[0].day(clock.now()) - DAY

    sites.give_role(here[0], ansel, Role.SURVEYOR, yesterday, yesterday, by=here[1], at=clock.now())

    assert client.get(survey(here[0])).status_code == 404
    assert "no role at any site today" in client.get("/").text


def test_each_site_is_seen_to_its_own_last_day(client, monkeypatch, here, ansel, link):
    other = a_site("osprey")
    surveys(*other, person=ansel, last=10)
    found = {}

    for days in (10, 11, 30, 31):
        moment = clock.now() + days * DAY
        with monkeypatch.context() as patch:
            patch.setattr(clock, "now", lambda moment=moment: moment)
            come_in(client, *link)
            found[days] = [client.get(survey(site)).status_code for site in (here[0], other[0])]
        client.logout()

    assert found == {10: [200, 200], 11: [200, 404], 30: [200, 404], 31: [302, 302]}


@pytest.mark.parametrize("case", ["not yet", "locked out"])
def test_the_right_code_lets_nobody_in_without_a_role_in_force(client, here, ansel, link, case):
    if case == "not yet":
        surveys(*here, person=ansel, first=1)
    else:
        ansel.is_active = False
        ansel.save()
    open_link(client, link[0])

    page = type_code(client, link[1])

    assert "no role at any site today" in page.text
    assert here[0].name not in page.text
    assert not is_in(client)


def test_a_link_lets_in_as_a_surveyor_alone(client, here, ansel, link):
    other = a_site("osprey")
    today = other[0].day(MORNING)
    sites.give_role(other[0], ansel, Role.MANAGER, today, None, by=other[1], at=MORNING)
    come_in(client, *link)

    assert client.get(reverse("board", args=["osprey"])).status_code == 404
    assert client.get(survey(other[0])).status_code == 404
    assert client.get(survey(here[0])).status_code == 200
    client.logout()
    client.force_login(ansel)
    assert client.get(reverse("board", args=["osprey"])).status_code == 200


def test_one_let_in_by_a_link_keeps_the_name_that_the_manager_wrote(client, here, ansel, link):
    come_in(client, *link)

    answer = client.post(
        reverse("account"), {"name": "Somebody else", "home_site": here[0].pk, "left_hand": "on"}
    )

    ansel.refresh_from_db()
    assert answer.status_code == 302
    assert (ansel.name, ansel.left_hand) == ("Ansel Survey", True)


def test_too_many_wrong_codes_wait_even_with_the_right_one(client, here, link, caplog):
    open_link(client, link[0])
    for _ in range(actions.MOST_BY_PAIR):
        assert type_code(client, WRONG).status_code == 200

    assert type_code(client, link[1]).status_code == 429
    assert not is_in(client)
    assert "surveyor-code" in caplog.text
    assert link[0] not in caplog.text


@pytest.mark.parametrize(
    ("most", "many_links"), [(actions.MOST_BY_ACCOUNT, False), (actions.MOST_BY_ADDRESS, True)]
)
def test_tries_count_by_link_and_by_address(client, here, ansel, most, many_links):
    token, code = link_for(ansel, here[1])
    link = SurveyorLink.objects.newest_of(ansel)
    wanted = SignInTry.Wanted.CODE
    for n in range(most):
        account = f"another {n}" if many_links else link.token_sha256
        place = "10.0.0.1" if many_links else f"10.0.0.{n}"
        actions.begin_try(wanted, account, place, at=clock.now())
    open_link(client, token)

    assert type_code(client, code, REMOTE_ADDR="10.0.0.1").status_code == 429
    assert not is_in(client)


def test_codes_and_passwords_are_counted_apart(client, link):
    for n in range(actions.MOST_BY_ADDRESS):
        actions.begin_try(SignInTry.Wanted.SIGN_IN, str(n), "127.0.0.1", at=clock.now())
    open_link(client, link[0])

    assert type_code(client, link[1]).status_code == 302


def test_the_right_code_forgets_the_wrong_ones(client, link):
    open_link(client, link[0])
    for _ in range(actions.MOST_BY_PAIR - 1):
        type_code(client, WRONG)

    type_code(client, link[1])

    assert SignInTry.objects.count() == 0


def test_only_hashes_of_both_secrets_are_kept(ansel, link):
    row = SurveyorLink.objects.values().get()

    kept = " ".join(map(str, row.values()))
    assert link[0] not in kept
    assert plain_code(link[1]) not in kept
    assert row["token_sha256"] == actions.hash_of(link[0])
    assert row["code"].split("$")[0] in ("md5", "pbkdf2_sha256")


def test_a_form_sent_twice_makes_one_link(here, ansel, link):
    first = SurveyorLink.objects.newest_of(ansel)
    who = {"by": here[1], "at": clock.now()}
    actions.make_link(ansel, after=first, **who)

    with pytest.raises(actions.NewerLink):
        actions.make_link(ansel, after=first, **who)

    rows = SurveyorLink.objects.order_by("pk").values_list("withdrawn_at", "withdrawn_by")
    assert list(rows) == [(who["at"], here[1].pk), (None, None)]


def test_no_password_is_mailed_to_one_who_comes_by_link(client, ansel, mailoutbox):
    client.post(reverse("password-reset"), {"email": ansel.email})
    assert mailoutbox == []
    # who works somewhere too may have one
    sites.give_role(
        *(a_site("osprey")[0], ansel, Role.DESK, MORNING.date(), None), by=ansel, at=MORNING
    )

    client.post(reverse("password-reset"), {"email": ansel.email})

    assert [mail.to for mail in mailoutbox] == [[ansel.email]]


def test_a_code_has_49_bits_and_nothing_that_looks_like_another():
    codes = {new_code() for _ in range(200)}

    assert len(codes) == 200
    assert all(len(plain_code(code)) == 10 and len(code.split()) == 2 for code in codes)
    assert set("".join(map(plain_code, codes))) == set(ALPHABET)
    assert len(ALPHABET) ** 10 > 2**49
    assert not set("01IOLU") & set(ALPHABET)


def test_a_code_is_spelled_for_the_telephone():
    # ICAO Annex 10, volume II, chapter 5: the spelling alphabet
    assert spelled("7KQ4M W9XDA") == "7 Kilo Quebec 4 Mike, Whiskey 9 X-ray Delta Alfa"
