"""Sweeps at a site whose database was put back from an older copy, or whose journal is not
what was signed.
"""

from datetime import date, timedelta

import pytest
from django.core import mail
from django.db import connection

from fleet.actions.reminders import sweep
from fleet.actions.tags import tag_cart
from fleet.models import CheckpointMail, Digest, Notice
from shared import triggers
from shared.models import Checkpoint, Entry, JournalHead, Role
from shared.sealing import make_checkpoint, record_restore
from tests.factories import MORNING, CartFactory, MembershipFactory, RecheckFactory, SiteFactory
from tests.lift_factories import a_cart, a_site
from tests.taking_back import take_back

pytestmark = pytest.mark.django_db(transaction=True)

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
SIX = MORNING - 2 * HOUR + DAY
BUNDLE = Checkpoint.Cause.BUNDLE


@pytest.fixture
def here():
    """A site, its manager, and a cart of which a recheck falls due on the day of SIX."""
    site, manager = a_site()
    a_cart(site, manager, number="8")
    cart = CartFactory(site=site, number="7")
    RecheckFactory(cart=cart, opens_on=date(2026, 3, 1), due_on=date(2026, 3, 3))
    return site, manager


def subjects():
    """Return what the mails since the last look are about, each by its first words."""
    found = sorted(message.subject.partition(":")[0] for message in mail.outbox)
    mail.outbox.clear()
    return found


def lose_the_last_entry(site):
    """Put back a copy that lacks the last entry, and all that the sweeps wrote."""
    size = JournalHead.objects.get(pk=site.pk).size
    for model in (CheckpointMail, Digest, Notice):
        model.objects.all().delete()
    take_back(site, size - 1)


def restored(here, at):
    site, manager = here
    record_restore(site, reason="The disk died.", by=manager, at=at)


def errors(caplog):
    return [row.getMessage() for row in caplog.records if row.name == "fleet.actions.checkpoints"]


@pytest.mark.both
def test_a_site_that_is_behind_signs_and_mails_nothing_and_says_so_once(here, caplog):
    site, _manager = here
    sweep(SIX)
    assert subjects() == ["Carts at Harbour", "Keep this"]
    lose_the_last_entry(site)

    swept = [sweep(SIX + later) for later in (MINUTE, HOUR, DAY, 2 * DAY)]

    assert [one.did_something for one in swept] == [False] * 4
    assert subjects() == []
    assert Checkpoint.objects.count() == 0
    assert len(errors(caplog)) == 1
    assert "The database is older than its newest checkpoint" in errors(caplog)[0]


def test_another_site_goes_on(here):
    site, _manager = here
    sweep(SIX)
    lose_the_last_entry(site)
    subjects()
    a_site("osprey")

    assert sweep(SIX + MINUTE).signed == 1
    assert subjects() == ["Keep this"]


def test_what_waited_at_a_site_that_is_behind_goes_out_after_the_restore(here, settings):
    site, manager = here
    tag_cart(a_cart(site, manager, number="9"), "Loose", by=manager, at=SIX - HOUR)
    working, settings.EMAIL_BACKEND = (
        settings.EMAIL_BACKEND,
        "tests.fleet.test_reminders_sending.Down",
    )
    make_checkpoint(site, at=SIX - MINUTE, cause=BUNDLE)
    sweep(SIX)
    settings.EMAIL_BACKEND = working
    signed = Checkpoint.objects.get(cause="daily")
    # as if one more entry had been signed
    JournalHead.objects.filter(pk=site.pk).update(size=signed.size - 1)

    assert not sweep(SIX + MINUTE).did_something
    JournalHead.objects.filter(pk=site.pk).update(size=signed.size)
    sweep(SIX + HOUR)

    assert subjects() == ["Carts at Harbour", "Keep this", "Tagged"]


def test_a_restore_sends_no_mail_of_that_morning_again(here):
    site, _manager = here
    sweep(SIX)
    subjects()
    lose_the_last_entry(site)
    restored(here, SIX + 2 * HOUR)

    swept = [sweep(SIX + later) for later in (3 * HOUR, DAY)]

    assert [one.noticed for one in swept] == [0, 0]
    assert subjects() == ["Carts at Harbour", "Keep this", "Keep this"]
    assert Digest.objects.get().day == date(2026, 3, 4)


def test_a_restore_before_any_mail_of_the_morning_leaves_it_owed(here):
    site, _manager = here
    make_checkpoint(site, at=SIX - HOUR, cause=BUNDLE)
    lose_the_last_entry(site)
    restored(here, SIX + 2 * HOUR)

    swept = sweep(SIX + 3 * HOUR)

    assert (swept.noticed, Digest.objects.get().day) == (1, date(2026, 3, 3))
    assert "Carts at Harbour" in subjects()


def test_the_day_of_a_restore_gets_its_checkpoint_too(here):
    site, _manager = here
    sweep(SIX)
    lose_the_last_entry(site)
    restored(here, SIX + 2 * HOUR)

    sweep(SIX + 3 * HOUR)

    made = Checkpoint.objects.order_by("pk").values_list("cause", "epoch")
    assert list(made) == [("restore", 2), ("daily", 2)]


def test_a_rewritten_journal_is_signed_no_more_and_reminders_go_on(here, caplog):
    site, _manager = here
    sweep(SIX)
    subjects()
    triggers.lift(connection)
    Entry.objects.filter(site=site, seq=2).update(leaf=bytes(32))
    triggers.lay(connection)

    swept = [sweep(SIX + DAY + later) for later in (0 * MINUTE, MINUTE, HOUR)]

    assert [one.signed for one in swept] == [0, 0, 0]
    assert subjects() == ["Carts at Harbour"]
    assert len(errors(caplog)) == 1
    assert "Entry 2 of site harbour is gone, or is not the one" in errors(caplog)[0]


def test_a_checkpoint_outside_that_cannot_be_read_keeps_a_site_waiting(here, settings, caplog):
    site, _manager = here
    sweep(SIX)
    subjects()
    (settings.CHECKPOINTS / f"{site.pk}.txt").write_text("spoilt")

    assert not sweep(SIX + DAY).did_something
    assert subjects() == []
    assert "holds no checkpoint: put back a copy of it" in errors(caplog)[0]


def test_without_a_key_nothing_is_signed_and_reminders_go_out(here, settings, caplog):
    settings.KEYS.mkdir(mode=0o755)

    assert sweep(SIX).signed == 0
    assert subjects() == ["Carts at Harbour"]
    assert len(errors(caplog)) == 1


def test_the_mail_of_another_site_leaves_what_waits_at_one_that_is_behind(here):
    site, manager = here
    other = SiteFactory(name="Quay")
    MembershipFactory(site=other, person=manager, role=Role.MANAGER)
    due = date(2026, 3, 3)
    RecheckFactory(cart=CartFactory(site=other, number="1"), opens_on=due, due_on=due)
    sweep(SIX - HOUR)
    signed = make_checkpoint(site, at=SIX - MINUTE, cause=BUNDLE)
    JournalHead.objects.filter(pk=site.pk).update(size=signed.size - 1)

    sweep(SIX)

    assert "Carts at Quay" in subjects()
    assert {(row.sent_at, row.dropped) for row in Notice.objects.filter(site=site)} == {(None, "")}
