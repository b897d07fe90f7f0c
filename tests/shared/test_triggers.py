"""Rows of facts, lines and the journal are inserted once, whatever the SQL says."""

import re
from datetime import timedelta

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.core.management.sql import emit_post_migrate_signal
from django.db import DatabaseError, connection, models, transaction
from django.test.utils import CaptureQueriesContext

from fleet.models import Note
from shared.facts import correction_of, record
from shared.models import Checkpoint, Entry, Fact, Line, PageSeen
from shared.triggers import MESSAGE, check_triggers, kept_models, lay, lift, missing, unique_keys
from tests.factories import MORNING, CartFactory, PersonFactory

pytestmark = [pytest.mark.django_db, pytest.mark.both]

NOTE = "fleet_note"
ENTRY = "shared_entry"


@pytest.fixture
def sqlite(db):
    if connection.vendor != "sqlite":
        pytest.skip("is about SQLite alone")


@pytest.fixture
def note(db):
    """A note on record, which corrects another."""
    cart = CartFactory()
    first = Note(site=cart.site, cart=cart, by=PersonFactory(), text="found a nial")
    record(first, at=MORNING)
    filed = record(correction_of(first, reason="slip", by=first.by, text="nail"), at=MORNING)
    # PostgreSQL alters no table while foreign keys wait to be looked at
    connection.check_constraints()
    return filed.fact


def run(sql, values=()):
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql, values)


def refused(sql, values=()):
    with pytest.raises(DatabaseError, match=MESSAGE):
        run(sql, values)


def rows(table):
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table} ORDER BY 1")
        names = [column[0] for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def insert(row, table, *, verb="INSERT", then=""):
    marks = ", ".join(["%s"] * len(row))
    return f"{verb} INTO {table} ({', '.join(row)}) VALUES ({marks}) {then}", list(row.values())


@pytest.mark.parametrize("table", [NOTE, ENTRY])
def test_update_and_delete_are_refused(note, table):
    before = rows(table)

    refused(f"UPDATE {table} SET received_at = received_at")
    refused(f"DELETE FROM {table}")

    assert rows(table) == before


@pytest.mark.parametrize("table", [NOTE, ENTRY])
def test_truncate_is_refused(note, postgres, table):
    before = rows(table)

    refused(f"TRUNCATE {table}")
    refused(f"TRUNCATE {table} CASCADE")
    refused("TRUNCATE shared_site CASCADE")

    assert rows(table) == before


@pytest.mark.parametrize("recursive", ["ON", "OFF"])
@pytest.mark.parametrize("table", [NOTE, ENTRY])
@pytest.mark.parametrize("verb", ["INSERT OR REPLACE", "REPLACE", "INSERT OR IGNORE", "INSERT"])
def test_a_known_row_is_not_written_over(note, sqlite, table, verb, recursive):
    before = rows(table)
    run(f"PRAGMA recursive_triggers = {recursive}")

    for row in before:
        refused(*insert(row, table, verb=verb))

    run("PRAGMA recursive_triggers = ON")
    assert rows(table) == before


@pytest.mark.parametrize("key", [["id"], ["fact_id"], ["corrects"], ["site_id", "seq"]])
def test_an_entry_is_not_replaced_by_way_of_any_key(note, sqlite, key):
    before = rows(ENTRY)
    newest = before[-1]
    other = newest | {"id": 99, "fact_id": "f" * 32, "corrects": "e" * 32, "seq": 99}
    run("PRAGMA recursive_triggers = OFF")

    refused(*insert(other | {name: newest[name] for name in key}, ENTRY, verb="REPLACE"))

    run("PRAGMA recursive_triggers = ON")
    assert rows(ENTRY) == before


@pytest.mark.parametrize("table", [NOTE, ENTRY])
def test_an_insert_that_would_update_is_refused(note, table):
    before = rows(table)

    for row in before:
        refused(*insert(row, table, then="ON CONFLICT (id) DO UPDATE SET corrects = NULL"))

    assert rows(table) == before


def test_update_or_replace_is_refused(note, sqlite):
    before = rows(ENTRY)

    refused(f"UPDATE OR REPLACE {ENTRY} SET seq = 1")

    assert rows(ENTRY) == before


@pytest.mark.parametrize("table", [NOTE, ENTRY])
def test_an_insert_that_gives_way_changes_nothing(note, table):
    before = rows(table)
    gives_way = insert(before[0], table, then="ON CONFLICT DO NOTHING")

    if connection.vendor == "sqlite":
        refused(*gives_way)
    else:
        run(*gives_way)

    assert rows(table) == before


def test_the_orm_cannot_change_a_fact_either(note):
    changes = [
        lambda: note.save(),
        lambda: note.delete(),
        lambda: Note.objects.filter(pk=note.pk).update(text="x"),
        lambda: Note.objects.all().delete(),
        lambda: Note.objects.bulk_update([note], ["text"]),
        lambda: Note.objects.update_or_create(pk=note.pk, defaults={"text": "x"}),
        lambda: Entry.objects.all().delete(),
    ]

    for change in changes:
        with pytest.raises(DatabaseError, match=MESSAGE), transaction.atomic():
            change()

    assert Note.objects.get(pk=note.pk).text == "nail"
    assert Entry.objects.count() == 2


def test_every_fact_line_and_entry_is_kept():
    recorded = [model for model in apps.get_models() if issubclass(model, Fact | Line)]

    assert set(kept_models()) == {*recorded, Entry, Checkpoint, PageSeen}
    assert Note in recorded


def test_every_kept_table_carries_its_triggers():
    found = "SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE NOT tgisinternal"
    if connection.vendor == "sqlite":
        found = "SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'"
    with connection.cursor() as cursor:
        cursor.execute(found)
        carried = set(cursor.fetchall())
    last = "replace" if connection.vendor == "sqlite" else "truncate"

    tables = [model._meta.db_table for model in kept_models()]
    assert carried == {(t, f"{t}_no_{act}") for t in tables for act in ("update", "delete", last)}


def test_kept_tables_have_no_key_that_the_triggers_cannot_see():
    partly_unique = [
        constraint.name
        for model in kept_models()
        for constraint in model._meta.constraints
        if isinstance(constraint, models.UniqueConstraint)
        and (constraint.condition is not None or constraint.expressions)
    ]

    assert partly_unique == []
    assert not any(model._meta.unique_together for model in kept_models())
    assert set(unique_keys(Entry)) == {("id",), ("fact_id",), ("corrects",), ("site_id", "seq")}


@pytest.mark.django_db(transaction=True)
def test_a_table_that_django_makes_anew_gets_its_triggers_back(sqlite):
    cart = CartFactory()
    record(Note(site=cart.site, cart=cart, by=PersonFactory(), text="a"), at=MORNING)
    text, wider = Note._meta.get_field("text"), models.TextField(null=True)
    wider.set_attributes_from_name("text")

    with connection.schema_editor() as editor:
        editor.alter_field(Note, text, wider)
    gone = missing(connection)
    run(f"UPDATE {NOTE} SET text = 'b'")
    with connection.schema_editor() as editor:
        editor.alter_field(Note, wider, text)
    emit_post_migrate_signal(verbosity=0, interactive=False, db="default")

    assert gone == [f"{NOTE}_no_update", f"{NOTE}_no_delete", f"{NOTE}_no_replace"]
    assert missing(connection) == []
    refused(f"UPDATE {NOTE} SET text = 'c'")


def test_lay_again_is_the_same_and_mends_a_weakened_trigger(note):
    lay(connection)
    assert missing(connection) == []
    weak = f"CREATE TRIGGER {NOTE}_no_delete BEFORE DELETE ON {NOTE} WHEN 0 BEGIN SELECT 1; END"
    if connection.vendor == "postgresql":
        run(f"ALTER TABLE {NOTE} DISABLE TRIGGER {NOTE}_no_delete")
    else:
        run(f"DROP TRIGGER {NOTE}_no_delete")
        run(weak)
    assert missing(connection) == [f"{NOTE}_no_delete"]

    lay(connection)

    assert missing(connection) == []
    refused(f"DELETE FROM {NOTE}")


def test_lay_on_postgresql_touches_only_the_table_where_one_differs(postgres):
    run(f"DROP TRIGGER {NOTE}_no_delete ON {NOTE}")
    always = f"CREATE TRIGGER {NOTE}_no_delete BEFORE DELETE ON {NOTE} FOR EACH ROW"
    run(f"{always} WHEN (false) EXECUTE FUNCTION fleet_insert_only()")

    with CaptureQueriesContext(connection) as asked:
        lay(connection)

    made = [query["sql"] for query in asked if query["sql"].startswith("CREATE TRIGGER")]
    assert [re.search(r'ON "(\w+)"', sql).group(1) for sql in made] == [NOTE] * 3


def test_check_names_what_is_missing():
    assert check_triggers(databases=["default"]) == []
    on = f" ON {NOTE}" if connection.vendor == "postgresql" else ""
    run(f"DROP TRIGGER {NOTE}_no_update{on}")

    found = check_triggers(databases=["default"])

    assert [error.id for error in found] == ["shared.E001"]
    assert re.findall(r"\w+_no_\w+", found[0].msg) == [f"{NOTE}_no_update"]
    with pytest.raises(CommandError, match=f"{NOTE}_no_update"):
        call_command("check", "--deploy", "--tag=triggers", databases=["default"])
    assert check_triggers(databases=None) == []


def test_migrate_lays_what_is_missing():
    lift(connection)
    assert len(missing(connection)) == 3 * len(kept_models())

    call_command("migrate", verbosity=0, skip_checks=False)

    assert missing(connection) == []


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("turn", [1, 2])
def test_a_flush_between_tests_finds_the_tables_empty_and_kept(turn):
    cart = CartFactory()
    assert Entry.objects.count() == 0

    record(Note(site=cart.site, cart=cart, by=PersonFactory(), text="a"), at=MORNING)

    assert missing(connection) == []
    refused(f"UPDATE {NOTE} SET done_at = %s", [MORNING + timedelta(days=1)])
