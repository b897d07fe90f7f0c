import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.conf import settings
from django.urls import reverse

from shared import actions, clock
from shared.models import SignInTry
from tests.factories import MembershipFactory, PersonFactory, SiteFactory

pytestmark = pytest.mark.django_db
PASSWORD = "four words in a row"
NOON = datetime(2026, 3, 2, 17, 0, tzinfo=UTC)
SIGN_IN = SignInTry.Wanted.SIGN_IN


@pytest.fixture
def mia():
    person = PersonFactory(name="Mia", email="mia@example.org")
    person.set_password(PASSWORD)
    person.save()
    return person


def sign_in(client, email, password, **more):
    return client.post(reverse("sign-in"), {"username": email, "password": password, **more})


def words_of(response):
    return re.findall(r'<ul class="errorlist nonfield"[^>]*>(.*?)</ul>', response.text, re.S)


def test_sign_in_lets_in_whatever_the_case_of_the_address(client, mia):
    response = sign_in(client, "Mia@Example.org", PASSWORD)

    assert (response.status_code, response.url) == (302, "/")
    assert client.session["_auth_user_id"] == str(mia.pk)


def test_sign_in_starts_a_new_session(client, mia):
    session = client.session
    session["before"] = "yes"
    session.save()

    sign_in(client, mia.email, PASSWORD)

    assert client.session.session_key != session.session_key


@pytest.mark.parametrize("active", [True, False])
def test_sign_in_answers_the_same_to_the_unknown_the_wrong_and_the_locked_out(client, mia, active):
    mia.is_active = active
    mia.save()

    unknown = sign_in(client, "nobody@example.org", PASSWORD)
    known = sign_in(client, mia.email, PASSWORD if not active else "not it")

    assert words_of(unknown) == words_of(known)
    assert len(words_of(known)) == 1
    assert unknown.status_code == known.status_code == 200


@pytest.mark.parametrize(
    ("wanted", "reached"),
    [
        ("/account/", "/account/"),
        ("https://elsewhere.example/", "/"),
        ("//elsewhere.example/", "/"),
    ],
)
def test_sign_in_goes_on_to_addresses_of_its_own_only(client, mia, wanted, reached):
    assert sign_in(client, mia.email, PASSWORD, next=wanted).url == reached


def test_sign_out_is_by_post_and_ends_the_session(client, mia):
    client.force_login(mia)

    assert client.get(reverse("sign-out")).status_code == 405
    assert client.post(reverse("sign-out")).url == reverse("sign-in")
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize("email", ["mia@example.org", "nobody@example.org"])
def test_too_many_tries_wait_even_with_the_right_password(client, mia, email):
    for _ in range(actions.MOST_BY_PAIR):
        assert sign_in(client, email, "not it").status_code == 200

    assert sign_in(client, email, PASSWORD).status_code == 429
    assert "_auth_user_id" not in client.session


def test_tries_of_one_account_leave_another_alone(client, mia):
    for _ in range(actions.MOST_BY_PAIR + 1):
        sign_in(client, "other@example.org", "not it")

    assert sign_in(client, mia.email, PASSWORD).status_code == 302


def test_tries_count_no_more_after_an_hour(client, mia, monkeypatch):
    for _ in range(actions.MOST_BY_PAIR + 1):
        sign_in(client, mia.email, "not it")
    later = clock.now() + actions.COUNTED_FOR + timedelta(minutes=1)
    monkeypatch.setattr(clock, "now", lambda: later)

    assert sign_in(client, mia.email, PASSWORD).status_code == 302
    assert SignInTry.objects.count() == 0


def test_signing_in_forgets_the_tries_before(client, mia):
    for _ in range(actions.MOST_BY_PAIR - 1):
        sign_in(client, mia.email, "not it")

    sign_in(client, mia.email, PASSWORD)

    assert SignInTry.objects.count() == 0


@pytest.mark.parametrize(
    ("most", "account", "address"),
    [
        (actions.MOST_BY_ACCOUNT, "mia@example.org", "10.0.0.{}"),
        (actions.MOST_BY_ADDRESS, "person{}@example.org", "10.0.0.1"),
    ],
    ids=["by account", "by address"],
)
def test_tries_are_counted_over_all_addresses_and_all_accounts(most, account, address):
    tries = [
        actions.begin_try(SIGN_IN, account.format(n), address.format(n), at=NOON)
        for n in range(most + 1)
    ]

    assert [trial is None for trial in tries] == [False] * most + [True]
    assert SignInTry.objects.count() == most


def test_an_account_is_one_however_it_is_typed():
    tries = [
        actions.begin_try(SIGN_IN, typed, "10.0.0.1", at=NOON)
        for typed in ("mia@example.org", " MIA@example.org ")
    ]

    assert len({trial.account for trial in tries}) == 1
    assert "mia" not in tries[0].account


def test_a_server_on_a_socket_file_counts_as_one_address():
    assert actions.begin_try(SIGN_IN, "mia", "", at=NOON).address == actions.NO_ADDRESS


@pytest.mark.parametrize("has_one", [True, False])
def test_new_password_comes_by_mail_and_works_once(client, mia, mailoutbox, has_one):
    if not has_one:
        mia.set_password(None)
        mia.save()

    client.post(reverse("password-reset"), {"email": "MIA@example.org"})

    link = re.search(r"http\S+", mailoutbox[0].body).group()
    assert [mail.to for mail in mailoutbox] == [[mia.email]]
    assert link.startswith(settings.FLEET_URL + "/password/")
    form = client.get(link.removeprefix(settings.FLEET_URL), follow=True)
    new = "quite another row of words"
    done = client.post(form.request["PATH_INFO"], {"new_password1": new, "new_password2": new})
    assert done.url == reverse("sign-in")
    assert sign_in(client, mia.email, new).status_code == 302
    client.logout()
    again = client.get(link.removeprefix(settings.FLEET_URL), follow=True)
    assert "<input" not in again.text.split("<main")[1]


def test_new_password_answers_the_same_to_the_unknown(client, mia, mailoutbox):
    known = client.post(reverse("password-reset"), {"email": mia.email})
    unknown = client.post(reverse("password-reset"), {"email": "nobody@example.org"})

    assert (known.status_code, known.url) == (unknown.status_code, unknown.url)
    assert len(mailoutbox) == 1


def test_new_password_answers_the_same_when_the_mail_cannot_be_sent(client, mia, monkeypatch):
    def refuse(*args, **kwargs):
        raise ConnectionRefusedError

    monkeypatch.setattr("shared.emails.send_mail", refuse)

    response = client.post(reverse("password-reset"), {"email": mia.email})

    assert response.url == reverse("password-sent")


def test_new_passwords_are_mailed_only_so_often(client, mia, mailoutbox):
    for _ in range(actions.MOST_BY_PAIR + 2):
        client.post(reverse("password-reset"), {"email": mia.email})

    assert len(mailoutbox) == actions.MOST_BY_PAIR


def test_home_of_a_visitor_is_the_sign_in_or_the_first_site(client):
    assert client.get("/").url == reverse("first-site")
    assert client.get(reverse("sign-in")).url == reverse("first-site")
    PersonFactory()
    assert client.get("/").url == reverse("sign-in")


def test_home_is_the_home_site_while_it_is_visible(client, mia):
    north, south = SiteFactory(slug="north"), SiteFactory(slug="south")
    MembershipFactory(person=mia, site=north)
    MembershipFactory(person=mia, site=south, to_day=date(2025, 6, 1))
    mia.home_site = south
    mia.save()
    client.force_login(mia)

    assert client.get("/").url == "/north/"


def test_home_without_a_role_says_so(client, mia):
    client.force_login(mia)

    assert "You have no role at any site today" in client.get("/").text


def test_account_offers_the_sites_of_the_person_only(client, mia):
    own, foreign = MembershipFactory(person=mia).site, SiteFactory()
    client.force_login(mia)

    refused = client.post(reverse("account"), {"name": "Mia B", "home_site": foreign.pk})
    kept = client.post(reverse("account"), {"name": "Mia C", "home_site": own.pk})

    mia.refresh_from_db()
    assert (refused.status_code, kept.status_code) == (200, 302)
    assert (mia.name, mia.home_site) == ("Mia C", own)


def test_password_change_asks_for_the_old_one_and_a_long_new_one(client, mia):
    client.force_login(mia)
    new = "quite another row of words"

    def change(old, wanted):
        values = {"old_password": old, "new_password1": wanted, "new_password2": wanted}
        return client.post(reverse("password-change"), values).status_code

    assert change("not it", new) == 200
    assert change(PASSWORD, "short") == 200
    assert change(PASSWORD, new) == 302
    mia.refresh_from_db()
    assert mia.check_password(new)


def test_pages_for_nothing_found_keep_the_look(client):
    response = client.get("/no/such/page/")

    assert response.status_code == 404
    assert "No such page for you" in response.text


SENT = "/pier/wrenches/0b5d6f0e-0000-7000-8000-000000000000/hurt/"


def test_who_sends_a_form_signed_out_is_told_and_comes_back_to_its_page(client):
    MembershipFactory()  # with nobody at all, the first site is asked for

    answer = client.post(SENT, headers={"referer": "http://testserver/pier/wrenches/7/?a=1"})

    assert answer.url == "/sign-in/?next=/pier/wrenches/7/%3Fa%3D1"
    assert "this was not recorded" in client.get(answer.url).text


AWAY = ["", "https://elsewhere.example/page/", "//elsewhere.example/"]
AWAY += ["http://testserver//elsewhere.example/"]


@pytest.mark.parametrize("referer", AWAY)
def test_a_form_of_another_host_leads_nowhere_else(client, referer):
    answer = client.post(SENT, headers={"referer": referer})

    assert answer.url == f"/sign-in/?next={SENT}"


def test_who_opens_a_page_signed_out_is_told_of_no_form(client):
    MembershipFactory()

    page = client.get(client.get("/pier/board/").url)

    assert (page.status_code, "not recorded" in page.text) == (200, False)
