"""On PostgreSQL the app's role adds to what is recorded, and can do nothing else to it."""

import ast

import psycopg
import pytest
from django.conf import settings
from psycopg.errors import InsufficientPrivilege, RaiseException, UniqueViolation

from shared.triggers import MESSAGE, kept_models
from tests.deploy.two_roles import two_roles

pytestmark = pytest.mark.services

CHECK = ("check", "--deploy", "--database=default", "--tag=triggers")
KEPT = sorted(model._meta.db_table for model in kept_models())
# a fact, a line of one, the journal, a checkpoint and a surveyor's look
TABLES = [
    "fleet_reading",
    "lifts_look",
    "shared_entry",
    "shared_checkpoint",
    "shared_pageseen",
]


@pytest.fixture(scope="module")
def server():
    if "postgresql" not in settings.DATABASES["default"]["ENGINE"]:
        pytest.skip("needs PostgreSQL: run it by ./tests/run")


def in_python(act):
    return "shell", "--verbosity=0", f"--command=from tests.deploy import a_day; {act}"


@pytest.fixture(scope="module")
def fleet(server, tmp_path_factory):
    """A database made as the README says, with a few carts' history told by the app's role.

    All that the demo tells is told with the app's rights in tests/deploy/demo.
    """
    with two_roles(tmp_path_factory.mktemp("var")) as made:
        made.run_script()
        for role, *words in [(made.owner, "migrate"), (made.app, *in_python("a_day.begin()"))]:
            code, said = made.manage(role, *words)
            assert code == 0, said
        # the suite's server counts no tables by itself, and plans go wrong without
        with made.connect() as connection:
            connection.execute("ANALYZE")
        yield made


@pytest.fixture(scope="module")
def day(fleet):
    """What the app's role did in a day, each with how often."""
    code, said = fleet.manage(fleet.app, *in_python("a_day.live()"))
    assert code == 0, said
    return ast.literal_eval(said.splitlines()[-1])


@pytest.fixture
def app(fleet, day):
    with fleet.connect(fleet.app) as connection:
        yield connection


@pytest.fixture
def owner(fleet, day):
    with fleet.connect(fleet.owner) as connection:
        yield connection


def rights(connection, role):
    """Return table -> the letters of what the role was granted there."""
    found = connection.execute(
        "SELECT relname, string_agg(left(privilege_type, 1), '' ORDER BY privilege_type)"
        " FROM pg_class, aclexplode(relacl) WHERE relkind = 'r'"
        " AND relnamespace = 'public'::regnamespace AND grantee = %s::regrole GROUP BY 1",
        [role],
    )
    return dict(found.fetchall())


def test_a_day_of_work_needs_no_more_than_the_apps_role(day):
    assert {name for name, number in day.items() if not number} == set()


@pytest.mark.parametrize(
    "words", [("verify_history",), ("reproject", "--check"), ("migrate",), CHECK]
)
def test_the_apps_role_may_run_it(fleet, day, words):
    code, said = fleet.manage(fleet.app, *words)

    assert code == 0, said
    assert "WARNINGS" not in said


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE {} SET id = id",
        "DELETE FROM {}",
        "TRUNCATE {}",
        "TRUNCATE {} CASCADE",
        "INSERT INTO {0} SELECT * FROM {0} LIMIT 1 ON CONFLICT (id) DO UPDATE SET id = {0}.id",
        "MERGE INTO {0} USING {0} AS other ON {0}.id = other.id WHEN MATCHED THEN DELETE",
        "SELECT * FROM {} FOR UPDATE",
        "LOCK TABLE {} IN ACCESS EXCLUSIVE MODE",
        "ALTER TABLE {0} DISABLE TRIGGER {0}_no_update",
        "ALTER TABLE {} DISABLE TRIGGER ALL",
        "DROP TRIGGER {0}_no_update ON {0}",
        "DROP TABLE {} CASCADE",
        "ALTER TABLE {} RENAME TO other",
        "ALTER TABLE {} OWNER TO CURRENT_USER",
        "CREATE RULE r AS ON INSERT TO {} DO INSTEAD NOTHING",
        "CREATE TRIGGER t BEFORE INSERT ON {} FOR EACH ROW EXECUTE FUNCTION fleet_insert_only()",
    ],
)
def test_the_app_cannot_touch_what_is_recorded(app, table, statement):
    (before,) = app.execute(f"SELECT count(*) FROM {table}").fetchone()

    # LOCK asks for a transaction
    with pytest.raises(InsufficientPrivilege), app.transaction():
        app.execute(statement.format(table))

    assert before > 0
    assert app.execute(f"SELECT count(*) FROM {table}").fetchone() == (before,)


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE OR REPLACE FUNCTION fleet_insert_only() RETURNS trigger LANGUAGE plpgsql"
        " AS $$ BEGIN RETURN NEW; END $$",
        "ALTER FUNCTION fleet_insert_only() RENAME TO other",
        "DROP FUNCTION fleet_insert_only() CASCADE",
        "SET session_replication_role = replica",
        "SET ROLE {owner}",
        "SET SESSION AUTHORIZATION {owner}",
        "REASSIGN OWNED BY {owner} TO {app}",
        "DROP OWNED BY {owner}",
        "GRANT {owner} TO {app}",
        "ALTER ROLE {app} SUPERUSER",
        "DROP SCHEMA public CASCADE",
        "CREATE TABLE public.other ()",
        "CREATE TEMPORARY TABLE shared_entry ()",
        "CREATE SCHEMA {app}",
        "CREATE EVENT TRIGGER t ON ddl_command_end EXECUTE FUNCTION fleet_insert_only()",
        "ALTER DATABASE {name} SET session_replication_role = replica",
        "DROP DATABASE {name}",
        "COPY shared_entry FROM '/dev/null'",
        "COPY shared_entry FROM PROGRAM 'true'",
    ],
)
def test_the_app_cannot_get_around_its_rights(fleet, app, statement):
    names = {"owner": fleet.owner, "app": fleet.app, "name": fleet.name}

    with pytest.raises(InsufficientPrivilege):
        app.execute(statement.format(**names))


def test_a_copy_writes_over_no_row(app):
    with app.cursor() as cursor:
        with cursor.copy("COPY (SELECT * FROM shared_entry LIMIT 1) TO STDOUT") as out:
            row = b"".join(out)

        with pytest.raises(UniqueViolation), cursor.copy("COPY shared_entry FROM STDIN") as into:
            into.write(row)


def test_the_app_can_grant_nobody_what_it_lacks(fleet, app):
    before = rights(app, fleet.app)

    # PostgreSQL only warns one who has other rights there
    app.execute("GRANT ALL ON shared_entry TO CURRENT_USER")

    assert rights(app, fleet.app) == before


@pytest.mark.parametrize("statement", ["UPDATE {} SET id = id", "DELETE FROM {}", "TRUNCATE {}"])
@pytest.mark.parametrize("table", TABLES)
def test_the_owner_still_meets_the_triggers(owner, table, statement):
    with pytest.raises(RaiseException, match=MESSAGE):
        owner.execute(statement.format(f"{table} CASCADE" if "TRUNCATE" in statement else table))


def test_the_app_has_select_and_insert_on_every_kept_table_and_no_more(fleet, owner):
    granted = rights(owner, fleet.app)

    assert {table: granted[table] for table in KEPT} == dict.fromkeys(KEPT, "IS")
    assert {granted[table] for table in granted if table not in KEPT} == {"DISU"}


def test_a_table_of_a_later_migration_is_the_apps_to_use(fleet, owner, app):
    owner.execute("CREATE TABLE later (id bigserial PRIMARY KEY, text text)")

    app.execute("INSERT INTO later (text) VALUES ('a'), ('b')")
    app.execute("UPDATE later SET text = 'c' WHERE id = 2")
    app.execute("DELETE FROM later WHERE id = 1")

    assert app.execute("SELECT * FROM later").fetchall() == [(2, "c")]
    with pytest.raises(InsufficientPrivilege):
        app.execute("TRUNCATE later")


def test_migrate_takes_back_what_was_granted_by_hand(fleet, owner, app):
    owner.execute(f"GRANT UPDATE, TRUNCATE ON shared_entry TO {fleet.app}")
    owner.execute("GRANT DELETE ON fleet_note TO PUBLIC")

    warned = fleet.manage(fleet.app, *CHECK)
    assert warned[0] == 0
    assert "(shared.W007) the app's role has more than SELECT and INSERT on" in warned[1]
    assert "fleet_note, shared_entry\n" in warned[1]
    assert fleet.manage(fleet.owner, "migrate")[0] == 0

    assert "W007" not in fleet.manage(fleet.app, *CHECK)[1]
    assert rights(owner, fleet.app)["shared_entry"] == "IS"
    with pytest.raises(InsufficientPrivilege):
        app.execute("DELETE FROM fleet_note")


def test_the_script_may_run_again(fleet, owner):
    before = rights(owner, fleet.app)

    fleet.run_script()

    assert rights(owner, fleet.app) == before


def test_the_start_warns_an_owner_and_a_superuser(fleet, day):
    for role in (fleet.owner, fleet.server["user"]):
        code, said = fleet.manage(role, *CHECK)

        assert code == 0
        assert "(shared.W002) the app could drop its own triggers" in said


def test_what_the_app_cannot_mend_the_start_refuses_to_it(fleet, owner):
    owner.execute("DROP TRIGGER fleet_note_no_update ON fleet_note")

    assert fleet.manage(fleet.app, "migrate")[0] == 0
    code, said = fleet.manage(fleet.app, *CHECK)
    fleet.manage(fleet.owner, "migrate")

    assert code == 1
    assert "trigger fleet_note_no_update is missing" in said
    assert fleet.manage(fleet.app, *CHECK)[0] == 0


def test_a_role_that_had_all_becomes_the_apps(server, tmp_path):
    with two_roles(tmp_path) as made:
        with made.connect() as superuser:
            superuser.execute(f"CREATE ROLE {made.app} LOGIN CREATEROLE")
            superuser.execute(f"CREATE ROLE {made.owner} LOGIN")
            superuser.execute(f"GRANT {made.owner} TO {made.app}")
            superuser.execute(f"ALTER DATABASE {made.name} OWNER TO {made.app}")
        with made.connect(made.app) as app:
            app.execute("CREATE TABLE fleet_note (id int)")
            app.execute(
                "CREATE FUNCTION fleet_insert_only() RETURNS trigger LANGUAGE plpgsql"
                " AS $$ BEGIN RAISE EXCEPTION 'insert only'; END $$"
            )
            app.execute(
                "CREATE TRIGGER fleet_note_no_update BEFORE UPDATE ON fleet_note"
                " FOR EACH ROW EXECUTE FUNCTION fleet_insert_only()"
            )
        assert "W002" in made.manage(made.app, *CHECK)[1]

        made.run_script()

        said = made.manage(made.app, *CHECK)[1]
        assert "W002" not in said and "W007" not in said
        with made.connect(made.app) as app:
            app.execute("INSERT INTO fleet_note VALUES (1)")
            for refused in ("UPDATE fleet_note SET id = 2", "DROP TABLE fleet_note"):
                with pytest.raises(psycopg.errors.InsufficientPrivilege):
                    app.execute(refused)
