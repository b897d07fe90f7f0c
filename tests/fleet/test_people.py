import re
from datetime import date, timedelta

import pytest
from django.conf import settings
from django.urls import reverse

from deploy import urls
from fleet.actions import first, sites
from fleet.actions.first import AlreadyBegun, begin
from fleet.forms.people import year_after
from fleet.forms.site import TAKEN_SLUGS, free_slug
from fleet.models import RuleBook
from shared import clock
from shared.models import Change, Membership, Person, Role, Site
from tests.factories import MORNING, MembershipFactory, PersonFactory, SiteFactory
from tests.lift_factories import a_site, with_role

pytestmark = pytest.mark.django_db
PASSWORD = "four words in a row"
FIRST = {
    "site_name": "North Shore",
    "zone": "America/New_York",
    "units": "inch",
    "date_order": "mdy",
    "name": "Ana",
    "email": "Ana@example.org",
    "password": PASSWORD,
    "password_again": PASSWORD,
}


@pytest.fixture
def here():
    return a_site()


@pytest.fixture
def signed_in(client, here):
    client.force_login(here[1])
    return client


def today(site):
    return site.day(clock.now())


def role_values(site, **changes):
    return {"role": "mechanic", "from_day": today(site), "to_day": ""} | changes


def give(client, site, person, **changes):
    url = reverse("person-role", args=[site.slug, person.pk])
    return client.post(url, role_values(site, **changes))


def add(client, site, **changes):
    values = {"email": "new@example.org", "name": "New"} | role_values(site) | changes
    return client.post(reverse("person-create", args=[site.slug]), values)


def test_first_begins_the_site_and_signs_its_manager_in(client):
    response = client.post(reverse("first-site"), FIRST)

    site = Site.objects.get()
    assert response.url == "/north-shore/"
    assert client.session["_auth_user_id"] == str(first.FIRST_PERSON)
    row = Membership.objects.get()
    assert (row.person.email, row.role, row.site) == ("ana@example.org", Role.MANAGER, site)
    assert RuleBook.objects.filter(site=site).count() == 1
    assert [change.what for change in Change.objects.all()] == ["site", "role", "rule book"]


@pytest.mark.parametrize(
    "changes",
    [
        {"password": "short", "password_again": "short"},
        {"password_again": "another four words"},
        {"zone": "Nowhere/Here"},
        {"email": "no address"},
    ],
)
def test_first_keeps_nothing_of_what_is_wrong(client, changes):
    response = client.post(reverse("first-site"), FIRST | changes)

    assert response.status_code == 200
    assert "errorlist" in response.text
    assert (Person.objects.count(), Site.objects.count()) == (0, 0)


def test_first_is_open_only_while_nobody_is_known(client):
    assert client.get(reverse("first-site")).status_code == 200
    PersonFactory()

    assert client.get(reverse("first-site")).status_code == 404
    assert client.post(reverse("first-site"), FIRST).status_code == 404
    assert Site.objects.count() == 0


def test_of_two_who_begin_at_once_the_database_lets_in_one(monkeypatch):
    values = {"slug": "north", "name": "North", "zone": "UTC"}
    who = {"name": "Ana", "email": "ana@example.org", "password": PASSWORD, "at": MORNING}
    begin(values, **who)

    # the second looked before the first had finished
    class Nobody:
        looks = iter([False, True])

        def exists(self):
            return next(self.looks)

    monkeypatch.setattr(first.Person, "objects", Nobody())
    with pytest.raises(AlreadyBegun):
        begin(values | {"slug": "south"}, **who | {"email": "bo@example.org"})

    assert Site.objects.count() == 1


def test_slugs_are_plain_free_and_never_another_address():
    SiteFactory(slug="north")

    assert [free_slug(name) for name in ("North", "Sign in", "港", "P")] == [
        "north-2",
        "sign-in-2",
        "site",
        "p-2",
    ]


def test_taken_slugs_are_the_first_words_of_all_other_addresses():
    from_root = {
        str(pattern.pattern).split("/")[0]
        for include in urls.urlpatterns
        for pattern in include.url_patterns
    }
    served = {settings.STATIC_URL.strip("/"), settings.MEDIA_URL.strip("/")}

    words = {word for word in from_root if word and not word.startswith("<")}
    assert words | served <= TAKEN_SLUGS


def test_people_lists_those_of_the_site_alone(signed_in, here):
    site, manager = here
    foreign = MembershipFactory(person__name="Foreign canary")
    response = signed_in.get(reverse("people", args=[site.slug]))

    names = [row.record.person.name for row in response.context["table"].rows]
    assert names == [manager.name]
    assert foreign.person.name not in response.text


@pytest.mark.parametrize("count", [1, 3])
def test_people_costs_the_same_however_many(signed_in, here, count, django_assert_num_queries):
    MembershipFactory.create_batch(count - 1, site=here[0])
    url = reverse("people", args=[here[0].slug])

    with django_assert_num_queries(6):
        response = signed_in.get(url)

    assert len(response.context["table"].rows) == count


def test_people_as_csv_gives_iso_days(signed_in, here):
    response = signed_in.get(reverse("people", args=[here[0].slug]), {"file": "csv"})

    lines = b"".join(response.streaming_content).decode("utf-8-sig").splitlines()
    assert lines[1] == f"{here[1].name},manager,{here[1].email},2026-03-02,,yes,"


def test_a_person_added_gets_a_role_and_a_link(signed_in, here, mailoutbox):
    site, manager = here
    response = add(signed_in, site, email="New@example.org")

    row = Membership.objects.get(person__email="new@example.org")
    change = Change.objects.filter(what="role").last()
    assert response.url == reverse("people", args=[site.slug])
    assert (row.site, row.role, row.from_day) == (site, Role.MECHANIC, today(site))
    assert (change.person, change.by) == (row.person, manager)
    assert [mail.to for mail in mailoutbox] == [["new@example.org"]]
    assert re.search(settings.FLEET_URL + r"/password/\S+", mailoutbox[0].body)


def test_a_person_known_elsewhere_keeps_name_and_password(signed_in, here, mailoutbox):
    known = MembershipFactory(person__email="new@example.org", person__name="Known").person
    known.set_password(PASSWORD)
    known.save()

    add(signed_in, here[0], name="Renamed")

    known.refresh_from_db()
    assert known.name == "Known"
    assert "/password/" not in mailoutbox[0].body
    assert set(known.memberships.values_list("role", flat=True)) == {"manager", "mechanic"}


def test_a_person_is_added_once_to_a_site(signed_in, here):
    add(signed_in, here[0])

    again = add(signed_in, here[0], email="NEW@example.org")

    assert "in the list already" in again.text
    assert Membership.objects.filter(site=here[0]).count() == 2


def test_a_mail_that_cannot_be_sent_leaves_the_role_and_says_so(signed_in, here, monkeypatch):
    def refuse(*args, **kwargs):
        raise ConnectionRefusedError

    monkeypatch.setattr("shared.emails.send_mail", refuse)

    add(signed_in, here[0])

    assert Membership.objects.filter(person__email="new@example.org").exists()
    page = signed_in.get(reverse("people", args=[here[0].slug]))
    assert "no mail went to new@example.org" in page.text


def test_the_link_is_mailed_again_only_before_a_first_password(signed_in, here, mailoutbox):
    person = with_role(*here)
    url = reverse("person-mail", args=[here[0].slug, person.pk])
    person.set_password(PASSWORD)
    person.save()
    signed_in.post(url)
    assert mailoutbox == []
    person.set_unusable_password()
    person.save()

    signed_in.post(url)

    assert [mail.to for mail in mailoutbox] == [[person.email]]


def test_a_surveyor_needs_a_last_day_and_never_hands_back(signed_in, here):
    site = here[0]
    person = with_role(*here)

    assert give(signed_in, site, person, role="surveyor").status_code == 200
    last = today(site) + timedelta(days=30)
    surveyor = {"role": "surveyor", "to_day": last}
    assert give(signed_in, site, person, **surveyor, may_release="on").status_code == 200
    assert "Code for" in give(signed_in, site, person, **surveyor).text
    row = Membership.objects.get(person=person)
    assert (row.role, row.to_day, row.may_release) == (Role.SURVEYOR, last, False)


def test_a_surveyors_role_lasts_a_year_at_most(signed_in, here):
    site = here[0]
    person = with_role(*here)
    latest = year_after(today(site))
    surveyor = {"role": "surveyor", "to_day": latest}

    refused = give(signed_in, site, person, **surveyor | {"to_day": latest + timedelta(days=1)})

    assert f"lasts a year at most: to {latest:%m/%d/%Y}." in refused.text
    assert "Code for" in give(signed_in, site, person, **surveyor).text
    assert Membership.objects.get(person=person).to_day == latest


@pytest.mark.parametrize(
    ("day", "last"),
    [("2026-11-25", "2027-11-25"), ("2027-11-25", "2028-11-25"), ("2028-02-29", "2029-02-28")],
)
def test_a_year_ends_on_its_own_date(day, last):
    assert year_after(date.fromisoformat(day)).isoformat() == last


def test_a_mechanic_may_be_named_to_hand_back(signed_in, here):
    person = with_role(*here)

    give(signed_in, here[0], person, may_release="on")

    assert Membership.objects.get(person=person).may_release
    assert Change.objects.filter(person=person).last().value["may_release"] is True


def test_one_may_stand_above_the_manager_and_a_surveyor_never(signed_in, here):
    site, person = here[0], with_role(*here, Role.DESK)
    last = today(site) + timedelta(days=30)

    give(signed_in, site, person, role="desk", is_above="on")

    assert Membership.objects.get(person=person).is_above
    assert Change.objects.filter(person=person).last().value["is_above"] is True
    refused = give(signed_in, site, person, role="surveyor", to_day=last, is_above="on")
    assert "A surveyor only reads." in refused.text
    give(signed_in, site, person, role="desk")
    assert not Membership.objects.get(person=person).is_above


def test_a_role_in_force_is_not_replaced_by_a_later_one(signed_in, here):
    person = with_role(*here)
    tomorrow = today(here[0]) + timedelta(days=1)

    refused = give(signed_in, here[0], person, from_day=tomorrow)

    assert "A role is in force until then" in refused.text
    assert Membership.objects.get(person=person).from_day < tomorrow


def test_the_last_day_is_not_before_the_first(signed_in, here):
    person = with_role(*here)
    yesterday = today(here[0]) - timedelta(days=1)

    assert give(signed_in, here[0], person, to_day=yesterday).status_code == 200


def test_a_site_keeps_a_manager(signed_in, here):
    site, manager = here
    end = reverse("role-end", args=[site.slug, manager.pk])

    assert "would have no manager" in give(signed_in, site, manager, role="mechanic").text
    signed_in.post(end)
    assert Membership.objects.get(person=manager).to_day is None
    # one whose role ends some day does not stay
    MembershipFactory(site=site, to_day=date(2999, 1, 1))
    signed_in.post(end)
    assert Membership.objects.get(person=manager).to_day is None
    MembershipFactory(site=site)
    signed_in.post(end)
    assert Membership.objects.get(person=manager).to_day == today(site) - timedelta(days=1)


def test_an_ended_role_shows_nothing_at_once(client, signed_in, here):
    person = with_role(*here)
    signed_in.post(reverse("role-end", args=[here[0].slug, person.pk]))
    client.force_login(person)

    assert client.get(f"/{here[0].slug}/").status_code == 404


def test_a_role_given_today_is_ended_today(client, signed_in, here, mailoutbox):
    add(signed_in, here[0])
    person = Person.objects.get(email="new@example.org")

    signed_in.post(reverse("role-end", args=[here[0].slug, person.pk]))

    client.force_login(person)
    assert client.get(f"/{here[0].slug}/").status_code == 404


def test_roles_of_another_site_are_not_found(signed_in, here):
    foreign = MembershipFactory()

    for name in ("person-role", "role-end", "person-mail"):
        url = reverse(name, args=[here[0].slug, foreign.person_id])
        assert signed_in.post(url, role_values(here[0])).status_code == 404
    foreign.refresh_from_db()
    assert (foreign.role, foreign.to_day) == (Role.MANAGER, None)


def test_roles_by_action_reach_the_row_and_the_journal(here):
    site, manager = here
    person = PersonFactory()

    sites.give_role(site, person, Role.DESK, date(2026, 3, 2), None, by=manager, at=MORNING)

    assert Membership.objects.get(person=person).may_release is False
