"""A change of the key: the old one signs the new one, at every site, whatever breaks off."""

from datetime import timedelta

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from django.core.management import CommandError, call_command

from shared import clock, durable, keys, outside
from shared.facts import record
from shared.keys import KeyUnusable
from shared.models import Change, Checkpoint, Role
from shared.outside import BehindOutside
from shared.seal_check import check_seal
from shared.sealing import make_checkpoint, record_restore, rotate_key, statement_of
from tests.factories import MORNING, MembershipFactory, SiteFactory
from tests.taking_back import take_back
from tests.yard import LATER

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.both]

DAILY = Checkpoint.Cause.DAILY
NEXT_DAY = LATER + timedelta(days=1)


class Killed(BaseException):
    """Ends a step as a kill would: nothing that follows is done."""


@pytest.fixture
def site(yard):
    record(yard.note(), at=MORNING)
    make_checkpoint(yard.cart.site, at=MORNING, cause=DAILY)
    return yard.cart.site


def rotate(yard, at=LATER, **how):
    return rotate_key(by=yard.by, at=at, **how)


def is_signed_over(value, site):
    """Say whether the old key signed the new one for this site, by the words of the form."""
    said = b"cart records key 1\n" + value["key"].encode() + b"\n" + str(site.pk).encode() + b"\n"
    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(value["before"])).verify(
            bytes.fromhex(value["signature"]), said
        )
    except InvalidSignature:
        return False
    return True


def test_every_site_says_which_key_follows(yard, site):
    other, before = SiteFactory(), keys.public_hex()

    after = rotate(yard)

    assert keys.public_hex() == after != before
    changes = Change.objects.filter(what="signing key").order_by("id")
    assert [change.site_id for change in changes] == sorted([site.pk, other.pk])
    for change in changes:
        assert set(change.value) == {"key", "before", "signature"}
        assert (change.value["key"], change.value["before"]) == (after, before)
        assert is_signed_over(change.value, change.site)
        assert outside.key_changes(change.site_id) == [change.value]
    assert not is_signed_over(changes[0].value, changes[1].site)


def test_the_new_key_signs_a_checkpoint_at_each_site(yard, site):
    after = rotate(yard)

    row = Checkpoint.objects.latest("id")
    said = statement_of(row)
    assert (row.cause, row.size, said.key.hex(), said.is_signed()) == ("key", 2, after, True)
    assert outside.newest(site.pk) == said


def test_the_old_private_key_is_gone(yard, site, settings):
    rotate(yard)

    left = {path.name: path.read_bytes() for path in settings.KEYS.iterdir()}
    assert {name for name, content in left.items() if content} == {"signing.key"}


def test_a_second_change_follows_from_the_first(yard, site):
    first = rotate(yard)
    second = rotate(yard, at=NEXT_DAY)

    values = [change.value for change in Change.objects.filter(site=site).order_by("received_at")]
    assert [(value["before"], value["key"]) for value in values][1:] == [(first, second)]
    assert all(is_signed_over(value, site) for value in values)


def test_broken_off_before_the_new_key_is_written(yard, site, monkeypatch):
    before = keys.public_hex()
    break_off(monkeypatch, keys, "make_next", yard)

    assert Change.objects.count() == 0
    assert make_checkpoint(site, at=NEXT_DAY, cause=DAILY).key == before


def test_broken_off_after_the_new_key_is_written(yard, site, monkeypatch, settings):
    before = keys.public_hex()
    break_off(monkeypatch, outside, "is_behind", yard)

    assert ((settings.KEYS / "next.key").exists(), Change.objects.count()) == (True, 0)
    assert check_seal(databases=["default"]) == []
    assert make_checkpoint(site, at=NEXT_DAY, cause=DAILY).key == before
    after = rotate(yard, at=NEXT_DAY)
    assert keys.public_hex() == after
    assert not (settings.KEYS / "next.key").exists()


@pytest.mark.parametrize("step", ["keep", "keep_key_change"])
def test_broken_off_after_the_commit(yard, site, monkeypatch, step):
    before = keys.public_hex()
    break_off(monkeypatch, outside, step, yard)

    named = Change.objects.get().value["key"]
    assert (keys.public_hex(), Checkpoint.objects.latest("id").key) == (before, named)
    assert make_checkpoint(site, at=NEXT_DAY, cause=DAILY).key == named
    assert keys.public_hex() == named
    assert [value["key"] for value in outside.key_changes(site.pk)] == [named]


def test_broken_off_before_the_new_key_is_in_place(yard, site, monkeypatch):
    before = keys.public_hex()
    break_off(monkeypatch, durable, "move", yard)

    named = Change.objects.get().value["key"]
    assert keys.public_hex() == before
    assert check_seal(databases=["default"]) == []
    assert keys.public_hex() == named != before


def break_off(monkeypatch, module, name, yard):
    def kill(*args, **more):
        raise Killed

    with monkeypatch.context() as patch:
        patch.setattr(module, name, kill)
        with pytest.raises(Killed):
            rotate(yard)


def test_a_change_begun_after_one_that_was_broken_off_starts_from_its_key(yard, site, monkeypatch):
    break_off(monkeypatch, durable, "move", yard)
    named = Change.objects.get().value["key"]

    after = rotate(yard, at=NEXT_DAY)

    last = Change.objects.latest("received_at").value
    assert (last["before"], last["key"]) == (named, after)
    assert is_signed_over(last, site)


def test_nothing_changes_while_a_site_is_behind(yard, site):
    before = keys.public_hex()
    take_back(site, 0)

    with pytest.raises(BehindOutside):
        rotate(yard)

    assert (keys.public_hex(), Change.objects.count()) == (before, 0)


def test_another_key_than_the_journals_signs_nothing(yard, site, settings):
    (settings.KEYS / "signing.key").unlink()

    with pytest.raises(KeyUnusable, match=r"put its signing.key back, or run .* --lost$"):
        make_checkpoint(site, at=LATER, cause=DAILY)
    with pytest.raises(KeyUnusable):
        rotate(yard)

    assert [fault.id for fault in check_seal(databases=["default"])] == ["shared.W006"]


def test_after_a_loss_a_key_is_named_that_nobody_signed(yard, site, settings):
    lost = keys.public_hex()
    (settings.KEYS / "signing.key").unlink()

    after = rotate(yard, lost=True)

    assert Change.objects.get().value == {"key": after, "before": lost, "signature": ""}
    assert make_checkpoint(site, at=NEXT_DAY, cause=DAILY).key == after


def test_a_change_that_an_older_database_lost_is_told_again(yard, site):
    rotate(yard)
    value = Change.objects.get().value
    take_back(site, 1)

    record_restore(site, reason="The disk died.", by=yard.by, at=NEXT_DAY)

    again = Change.objects.get()
    assert (again.value, again.received_at) == (value, NEXT_DAY)
    assert is_signed_over(again.value, site)
    assert make_checkpoint(site, at=NEXT_DAY, cause=DAILY).key == keys.public_hex()


def test_a_lost_change_that_was_not_kept_leaves_the_checkpoints_key(yard, site, settings):
    rotate(yard)
    (settings.CHECKPOINTS / f"{site.pk}.keys").unlink()
    take_back(site, 1)

    row = record_restore(site, reason="The disk died.", by=yard.by, at=NEXT_DAY)

    assert (Change.objects.count(), row.key) == (0, keys.public_hex())


def test_the_command_needs_a_manager(yard, site, monkeypatch, capsys):
    monkeypatch.setattr(clock, "now", lambda: LATER)
    with pytest.raises(CommandError, match="is no manager there today"):
        call_command("rotate_key", by=yard.by.email)
    MembershipFactory(site=site, person=yard.by, role=Role.MANAGER)

    call_command("rotate_key", by=yard.by.email)

    said = capsys.readouterr().out
    assert said == f"The key is now {keys.public_hex()}. Tell it to the insurer.\n"
    assert Change.objects.get().by == yard.by
