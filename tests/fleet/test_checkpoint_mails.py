"""The checkpoint of each day, and the mails by which it leaves the house."""

from datetime import timedelta

import pytest
from django.core import mail
from django.core.management import CommandError, call_command

from fleet.actions.claims import CLAIM_LAPSES, claim
from fleet.actions.reminders import sweep
from fleet.actions.sites import give_role
from fleet.models import CheckpointMail
from shared import checkpoint, keys, outside
from shared.models import Checkpoint, JournalHead, Role
from shared.sealing import make_checkpoint, statement_of
from tests.at_once import at_once
from tests.factories import MORNING, MembershipFactory, SiteFactory
from tests.lift_factories import a_cart, a_site, with_role

pytestmark = pytest.mark.django_db(transaction=True)

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
# 06:00 at the site, when its digests go out
SIX = MORNING - 2 * HOUR + DAY
DAILY, BUNDLE = Checkpoint.Cause.DAILY, Checkpoint.Cause.BUNDLE
SENDING = "tests.fleet.test_reminders_sending"


@pytest.fixture
def here():
    """A site and its manager; its journal has entries since the morning before SIX."""
    return a_site()


@pytest.fixture
def site(here):
    return here[0]


def surveyor_of(site, manager, until=90):
    person = with_role(site, manager)
    today = site.day(SIX)
    days = (today - DAY, today + until * DAY)
    give_role(site, person, Role.SURVEYOR, *days, by=manager, at=MORNING)
    return person


def kept():
    """Return the mails that carry checkpoints, with what they say."""
    found = [message for message in mail.outbox if message.subject.startswith("Keep this")]
    return [(one.to, checkpoint.read_all(one.message().as_bytes().decode())) for one in found]


def made():
    return list(Checkpoint.objects.order_by("pk").values_list("cause", "made_at"))


@pytest.mark.both
def test_a_journal_is_signed_once_a_day_from_the_sites_morning_on(site):
    moments = [SIX - MINUTE, SIX, SIX, SIX + MINUTE, SIX + 17 * HOUR, SIX + DAY, SIX + DAY]

    signed = [sweep(at).signed for at in moments]

    assert signed == [0, 1, 0, 0, 0, 1, 0]
    assert made() == [(DAILY, SIX), (DAILY, SIX + DAY)]
    assert outside.newest(site.pk) == statement_of(Checkpoint.objects.last())


def test_a_day_begins_at_the_sites_midnight(site):
    site.digest_hour = 0
    site.save()
    midnight = SIX - 6 * HOUR

    assert [sweep(midnight + at).signed for at in (-MINUTE, 0 * MINUTE, DAY - MINUTE)] == [1, 1, 0]


def test_one_signed_by_a_clock_that_was_ahead_does_not_stand_for_the_days_until_then(site):
    make_checkpoint(site, at=SIX + 400 * DAY, cause=DAILY)

    assert [sweep(at).signed for at in (SIX, SIX + HOUR, SIX + DAY)] == [1, 0, 1]


def test_one_signed_by_a_clock_that_was_a_day_ahead_does_not_stand_for_that_day(site):
    make_checkpoint(site, at=SIX + DAY + HOUR, cause=DAILY)

    moments = (SIX, SIX + DAY, SIX + DAY + MINUTE, SIX + DAY + 2 * HOUR)
    assert [sweep(at).signed for at in moments] == [1, 1, 0, 0]


def test_a_sweep_that_looked_at_the_clock_first_signs_no_second_time(site):
    assert [sweep(at).signed for at in (SIX + 2 * MINUTE, SIX)] == [1, 0]


def test_a_trial_signs_nothing(site, monkeypatch):
    monkeypatch.setattr("shared.clock.now", lambda: SIX + DAY)

    call_command("sweep", "--at", SIX.isoformat())

    assert (made(), kept()) == ([], [])


def test_a_checkpoint_with_a_bundle_does_not_stand_for_the_days(site):
    make_checkpoint(site, at=SIX - HOUR, cause=BUNDLE)

    assert sweep(SIX).signed == 1


def test_a_site_without_entries_is_not_signed():
    MembershipFactory(site=SiteFactory())

    assert (sweep(SIX).signed, mail.outbox) == (0, [])


@pytest.mark.services
def test_eight_sweeps_at_once_sign_and_mail_once(here, postgres):
    surveyor_of(*here)

    swept = at_once(*[lambda: sweep(SIX)] * 8)

    assert sum(one.signed for one in swept) == 1
    assert sum(one.checkpoints["sent"] for one in swept) == 2
    assert made() == [(DAILY, SIX)]
    assert len({tuple(to) for to, _said in kept()}) == len(kept()) == 2


def test_managers_and_surveyors_in_force_get_it_once(here):
    site, manager = here
    for role in (Role.MECHANIC, Role.DESK):
        with_role(site, manager, role)
    surveyor = surveyor_of(site, manager)
    surveyor_of(site, manager, until=-1)
    a_site("osprey")

    for at in (SIX, SIX + MINUTE, SIX + HOUR):
        sweep(at)

    here_alone = [to for to, said in kept() if said[0].site == site.pk]
    assert sorted(here_alone) == sorted([[manager.email], [surveyor.email]])


def test_one_who_is_locked_out_gets_none(here):
    here[1].is_active = False
    here[1].save()

    sweep(SIX)

    assert (made(), kept()) == ([(DAILY, SIX)], [])


def test_one_whose_role_begins_later_is_not_owed_what_was_made_before(here):
    site, manager = here
    sweep(SIX)
    surveyor = with_role(site, manager, Role.MANAGER, at=SIX + DAY)

    sweep(SIX + DAY)

    assert [len(said) for to, said in kept() if to == [surveyor.email]] == [1]


def test_the_mail_says_what_was_signed_and_how_to_use_it(here, site):
    site.name = "Hafen Süd"
    site.save()

    sweep(SIX)

    row = Checkpoint.objects.get()
    message = mail.outbox[0]
    ((_to, (said,)),) = kept()
    assert said == statement_of(row)
    assert said.is_signed()
    assert message.subject == "Keep this: checkpoint of the records of Hafen Süd"
    assert statement_of(row).text in message.body
    assert "python3 check.py BUNDLE.zip --checkpoint THIS-MAIL.eml\n" in message.body
    begins = " ".join(row.key[place : place + 4] for place in range(0, 16, 4))
    assert f"The public key begins {begins}: " in message.body
    assert "http://127.0.0.1:8000/harbour/seal/\n" in message.body
    assert message.message()["Content-Transfer-Encoding"] == "7bit"


def test_the_mail_is_found_when_it_comes_back_quoted(here):
    sweep(SIX)

    body = mail.outbox[0].body
    quoted = "".join(f"> {line}\n" for line in body.splitlines())

    assert checkpoint.read(quoted) == statement_of(Checkpoint.objects.get())


def test_all_that_waits_for_a_person_at_a_site_goes_in_one_mail(here):
    site, manager = here
    other = a_site("osprey")[0]
    MembershipFactory(site=other, person=manager, role=Role.MANAGER)
    for at in (SIX - 2 * HOUR, SIX - HOUR):
        make_checkpoint(site, at=at, cause=BUNDLE)

    swept = sweep(SIX)

    mine = [[one.site for one in said] for to, said in kept() if to == [manager.email]]
    assert sorted(mine, key=len) == [[other.pk], [site.pk] * 3]
    assert swept.checkpoints == {"sent": 3}
    assert not CheckpointMail.objects.filter(sent_at=None).exists()


@pytest.mark.parametrize(("ago", "mails"), [(2 * DAY - MINUTE, 1), (2 * DAY, 0)])
def test_what_was_made_days_before_any_sweep_is_owed_no_more(here, ago, mails):
    site, _manager = here
    make_checkpoint(site, at=SIX - HOUR, cause=BUNDLE)

    sweep(SIX - HOUR + ago)

    found = [said for _to, some in kept() for said in some if said.at == SIX - HOUR]
    assert len(found) == mails


def test_a_sweep_of_a_past_moment_mails_nothing_that_was_made_later(here):
    make_checkpoint(here[0], at=SIX + HOUR, cause=BUNDLE)

    swept = sweep(SIX)

    assert [[one.at for one in said] for _to, said in kept()] == [[SIX]]
    assert swept.checkpoints == {"sent": 1}
    assert sweep(SIX + HOUR).checkpoints == {"sent": 1}


def test_what_is_owed_when_its_maker_dies_is_mailed_by_the_next_sweep(here):
    make_checkpoint(here[0], at=SIX, cause=DAILY)

    assert sweep(SIX + MINUTE).checkpoints == {"sent": 1}


def test_one_whose_role_ended_while_the_mail_waited_gets_none(here, settings):
    site, manager = here
    surveyor = surveyor_of(site, manager)
    working = settings.EMAIL_BACKEND
    settings.EMAIL_BACKEND = f"{SENDING}.Down"
    sweep(SIX)

    settings.EMAIL_BACKEND = working
    today = site.day(SIX)
    give_role(site, surveyor, Role.SURVEYOR, today - DAY, today - DAY, by=manager, at=SIX)
    swept = sweep(SIX + HOUR)

    assert swept.checkpoints == {"sent": 1, "dropped": 1}
    assert [to for to, _said in kept()] == [[manager.email]]
    gone = CheckpointMail.objects.get(person=surveyor)
    assert gone.dropped == "the person has no such role any more"


@pytest.mark.parametrize("trouble", ["Down", "SenderUnwelcome"])
def test_a_server_in_trouble_costs_no_try(here, settings, trouble):
    make_checkpoint(here[0], at=SIX - HOUR, cause=BUNDLE)
    working, settings.EMAIL_BACKEND = settings.EMAIL_BACKEND, f"{SENDING}.{trouble}"
    for minutes in range(10):
        sweep(SIX + minutes * MINUTE)
    waiting = CheckpointMail.objects.values_list("attempts", "claimed_at", "sent_at")
    assert list(waiting) == [(0, None, None)] * 2

    settings.EMAIL_BACKEND = working
    sweep(SIX + HOUR)

    assert [len(said) for _to, said in kept()] == [2]


def test_what_is_refused_for_good_is_dead_whole(here, settings):
    here[1].email = "bad@example.org"
    here[1].save()
    make_checkpoint(here[0], at=SIX - HOUR, cause=BUNDLE)
    settings.EMAIL_BACKEND = f"{SENDING}.Refusing"

    ends = [sweep(SIX + times * HOUR).checkpoints for times in range(2)]

    assert ends == [{"dead": 1}, {}]
    rows = CheckpointMail.objects.values_list("is_dead", "dropped")
    assert list(rows) == [(True, "550 no such user")] * 2


def test_what_another_worker_holds_is_left_to_it(here):
    make_checkpoint(here[0], at=SIX - HOUR, cause=BUNDLE)
    sweep(SIX - MINUTE)
    CheckpointMail.objects.update(sent_at=None, claimed_at=None)
    assert claim(CheckpointMail, CheckpointMail.objects.get().pk, at=SIX)
    mail.outbox.clear()

    sweep(SIX)

    assert [[one.at for one in said] for _to, said in kept()] == [[SIX]]


def test_a_mail_sent_twice_has_one_message_id_and_another_its_own(here):
    sweep(SIX)
    CheckpointMail.objects.update(sent_at=None)  # died before it could settle
    sweep(SIX + 2 * CLAIM_LAPSES)
    sweep(SIX + DAY)

    ids = [message.extra_headers["Message-ID"] for message in mail.outbox]
    assert ids[0] == ids[1] != ids[2]
    assert ids[0].startswith("<checkpoints.")


def test_a_second_journal_does_not_wait_for_one_that_cannot_be_signed(here, monkeypatch):
    a_site("osprey")
    first = JournalHead.objects.order_by("pk").first().pk

    def failing(site, **about):
        if site.pk == first:
            raise OSError("the disk is full")
        return make_checkpoint(site, **about)

    monkeypatch.setattr("fleet.actions.checkpoints.make_checkpoint", failing)

    assert sweep(SIX).signed == 1


def test_a_mail_kept_from_months_before_proves_that_the_journal_only_grew(here, tmp_path, capsys):
    site, manager = here
    sweep(SIX)
    eml = tmp_path / "kept.eml"
    eml.write_bytes(mail.outbox[0].message().as_bytes())
    a_cart(site, manager, at=SIX + HOUR)
    sweep(SIX + 120 * DAY)
    asked = {"site": site.slug, "checkpoint": [str(eml)]}

    call_command("verify_history", **asked)
    assert capsys.readouterr().out.endswith(": nothing differs\n")

    said = checkpoint.read(eml.read_text())
    about = {"site": said.site, "epoch": said.epoch, "size": said.size, "at": said.at}
    other = checkpoint.sign(keys.private_key(), **about, root=bytes(32))
    eml.write_text(eml.read_text().replace(said.text, other.text))
    with pytest.raises(CommandError, match="not as recorded at: harbour"):
        call_command("verify_history", **asked)
