"""The drill on a real database file: copied aside, written on, put back."""

import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.urls import reverse

from fleet.models import Report
from shared import checkpoint, clock, outside
from shared.models import Checkpoint, Entry, JournalHead, Restore, Role, new_id
from shared.sealing import leaves_of, make_checkpoint, statement_of, tree_of
from shared.tree import is_consistent
from tests.factories import MORNING
from tests.lift_factories import a_cart, a_site, with_role

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.both]

NOW = MORNING + timedelta(days=3)
DAILY = Checkpoint.Cause.DAILY


@pytest.fixture
def database(db):
    """Where the database's file lies."""
    path = Path(str(connection.settings_dict["NAME"]))
    if connection.vendor != "sqlite" or not path.is_file():
        pytest.skip("needs SQLite in a file: run it by ./tests/run")
    return path


@pytest.fixture
def shop(client, monkeypatch, database):
    monkeypatch.setattr(clock, "now", lambda: NOW)
    site, manager = a_site()
    client.force_login(with_role(site, manager, Role.DESK))
    return a_cart(site, manager), manager


def copy(path, target):
    connection.close()
    shutil.copyfile(path, target)


def send(client, cart):
    address = reverse("report-create", args=[cart.site.slug, cart.pk])
    return client.post(address, {"act": str(new_id()), "noticed": "noise"})


def test_a_file_put_back_is_found_out_and_goes_on_in_a_new_epoch(
    shop, client, database, tmp_path, capsys
):
    cart, manager = shop
    site, aside = cart.site, tmp_path / "aside.sqlite3"
    make_checkpoint(site, at=NOW, cause=DAILY)
    before = JournalHead.objects.get(pk=site.pk).size
    copy(database, aside)
    for _ in range(5):
        assert send(client, cart).status_code == 302
    lost = statement_of(make_checkpoint(site, at=NOW, cause=DAILY))

    copy(aside, database)
    answer = send(client, cart)

    said = f"The journal ends at entry {before} of epoch 1; entry {before + 5} of epoch 1"
    assert (answer.status_code, said in answer.content.decode()) == (503, True)
    assert (JournalHead.objects.get(pk=site.pk).size, Report.objects.count()) == (before, 0)

    call_command("record_restore", site=site.slug, by=manager.email, reason="The disk died.")

    told = f"entries {before + 1} to {before + 5} are missing; epoch 2 began."
    assert capsys.readouterr().out == f"Recorded: {told}\n"
    first = statement_of(Checkpoint.objects.latest("id"))
    assert (first.epoch, first.size, outside.newest(site.pk)) == (2, before + 1, first)
    for _ in range(9):
        assert send(client, cart).status_code == 302
    grown = statement_of(make_checkpoint(site, at=NOW, cause=DAILY))

    tree = tree_of(site.pk, grown.size)
    proof = tree.consistency_proof(first.size)
    assert is_consistent(first.size, first.root, grown.size, grown.root, proof)
    proof = tree.consistency_proof(lost.size)
    assert not is_consistent(lost.size, lost.root, grown.size, grown.root, proof)
    assert checkpoint.read(Restore.objects.get().outside) == lost
    assert Entry.objects.filter(site=site).count() == grown.size == before + 10
    assert outside.leaves(site.pk, 0, 99) == leaves_of(site.pk, 0, grown.size)
