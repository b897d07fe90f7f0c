"""What is mailed to a person, as they choose it; what they must hear of stays."""

from html import unescape

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from fleet.choosing import told_of
from fleet.forms.reminders import WORDS
from fleet.models import ReminderChoice
from fleet.reminding import Stage, may_do_without
from shared.models import Role
from tests.factories import MembershipFactory

pytestmark = pytest.mark.django_db

TOLD = {
    Role.MANAGER: [
        "DUE",
        "LATE",
        "STOPPED",
        "TAGGED",
        "MOVING",
        "RUNS_ON",
        "TWO_ROUNDS",
        "DOUBTED",
    ],
    Role.MECHANIC: ["OPEN", "DUE", "LATE", "STOPPED", "TAGGED", "MOVING", "DOUBTED"],
    Role.DESK: ["TAGGED"],
    Role.SURVEYOR: [],
}
BOUND = {"STOPPED", "TAGGED", "MOVING", "RUNS_ON"}
HOURS = {"quiet_from": "21", "quiet_until": "6"}


def signed_in(client, role, **values):
    row = MembershipFactory(role=role, site__name="North", **values)
    client.force_login(row.person)
    return row.person


def keep(client, *ticks, **values):
    return client.post(reverse("reminders"), dict.fromkeys(ticks, "on") | HOURS | values)


def without(person):
    return ReminderChoice.objects.get(person=person).without


def test_each_stage_has_words_for_a_person():
    assert set(WORDS) == set(Stage)


@pytest.mark.parametrize("role", Role)
def test_a_page_offers_what_the_role_is_told_of(role, client):
    signed_in(client, role)

    form = client.get(reverse("reminders")).context["form"]

    ticks = [name.upper() for name in form.fields if not name.startswith("quiet")]
    assert ticks == TOLD[role]


def test_a_mechanic_may_leave_out_any_and_it_is_kept(client):
    mia = signed_in(client, Role.MECHANIC)

    keep(client, "stopped", "tagged", quiet_from="22", quiet_until="7")

    assert without(mia) == sorted([Stage.OPEN, Stage.DUE, Stage.LATE, Stage.MOVING, Stage.DOUBTED])
    choice = ReminderChoice.objects.get(person=mia)
    assert (choice.quiet_from, choice.quiet_until) == (22, 7)
    shown = client.get(reverse("reminders")).context["form"]
    ticked = [name for name, field in shown.fields.items() if field.initial is True]
    assert ticked == ["stopped", "tagged"]
    keep(client, "open", "due", "late", "stopped", "tagged", "moving", "doubted")
    assert without(mia) == []


def test_a_manager_cannot_leave_out_a_cart_that_is_stopped(client):
    mia = signed_in(client, Role.MANAGER)

    page = client.get(reverse("reminders"))
    keep(client)

    disabled = {name for name, field in page.context["form"].fields.items() if field.disabled}
    assert disabled == {name.lower() for name in BOUND}
    said = "Cannot be left out: whoever manages North has to hear of it."
    assert unescape(page.text).count(said) == len(BOUND)
    assert without(mia) == sorted([Stage.DUE, Stage.LATE, Stage.TWO_ROUNDS, Stage.DOUBTED])


def test_one_who_is_a_manager_elsewhere_may_leave_it_out_here_alone(client):
    mia = signed_in(client, Role.MECHANIC)
    MembershipFactory(person=mia, role=Role.MANAGER, site__name="East")

    page = unescape(client.get(reverse("reminders")).text)
    keep(client)

    assert "At East it comes all the same: its manager has to hear of it." in page
    # the role of the manager alone is told of it
    assert page.count("Cannot be left out: whoever manages East has to hear of it.") == 1
    assert Stage.STOPPED in without(mia)
    assert Stage.RUNS_ON not in without(mia)


def test_whoever_stands_above_is_told_of_that(client):
    row = MembershipFactory(role=Role.DESK, is_above=True)

    told = told_of([row], ReminderChoice(person=row.person))

    assert [one.stage for one in told] == [Stage.ABOVE, Stage.TAGGED, Stage.RUNS_ON]


def test_a_role_that_has_ended_tells_of_nothing(client):
    mia = signed_in(client, Role.MANAGER, to_day="2026-01-01")

    keep(client)

    assert not ReminderChoice.objects.filter(person=mia).exists()
    assert "No role that you have today" in client.get(reverse("reminders")).text


def test_hours_are_full_hours_of_a_day(client):
    mia = signed_in(client, Role.MECHANIC)

    for hour in ("24", "-1", "6.5", ""):
        assert keep(client, quiet_from=hour).status_code == 200

    assert not ReminderChoice.objects.filter(person=mia).exists()


def test_the_account_leads_to_both_pages(client):
    signed_in(client, Role.MECHANIC)

    page = client.get(reverse("account")).text

    assert reverse("reminders") in page
    assert reverse("calendar") in page


def test_what_comes_at_once_says_so(client):
    signed_in(client, Role.MECHANIC)

    fields = client.get(reverse("reminders")).context["form"].fields

    at_once = [name for name, field in fields.items() if field.help_text == "Comes at once."]
    assert at_once == ["tagged", "moving", "doubted"]


@pytest.mark.parametrize("name", ["digest.txt", "digest.html", "at_once.txt", "at_once.html"])
def test_each_reminder_leads_to_the_page_and_no_further(name):
    text = render_to_string(f"fleet/mail_{name}", {"home": "https://fleet.example"})

    assert text.count("https://fleet.example/account/reminders/") == 1


def test_mails_of_checkpoints_offer_no_choice():
    text = render_to_string("fleet/mail_checkpoints.txt", {"home": "https://fleet.example"})

    assert "https://fleet.example\n" in text
    assert "/account/" not in text


@pytest.mark.parametrize("role", [Role.MECHANIC, Role.DESK])
def test_managers_alone_are_bound(role):
    assert all(may_do_without(role, stage) for stage in Stage)
    bound = {stage.name for stage in Stage if not may_do_without(Role.MANAGER, stage)}
    assert bound == BOUND
