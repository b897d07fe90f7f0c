"""Tables made at once are those that Django makes step by step."""

import pytest
from django.db import connection, migrations, models
from django.db.migrations.state import ProjectState, StateApps

from shared.tables_at_once import TablesAtOnce


def key(**more):
    return models.ForeignKey(on_delete=models.CASCADE, **more)


# each holds a key of the other, so that one comes when both are there
OPERATIONS = [
    migrations.CreateModel(
        "Shelf", [("id", models.AutoField(primary_key=True)), ("width_mm", models.IntegerField())]
    ),
    migrations.CreateModel(
        "Box", [("id", models.AutoField(primary_key=True)), ("shelf", key(to="store.shelf"))]
    ),
    migrations.AddField("shelf", "first", key(to="store.box", null=True, related_name="+")),
    migrations.AddIndex("shelf", models.Index(fields=["width_mm"], name="shelf_by_width")),
    migrations.AddConstraint(
        "shelf",
        models.CheckConstraint(condition=models.Q(width_mm__gt=0), name="shelf_has_width"),
    ),
    migrations.AddConstraint(
        "box", models.UniqueConstraint(fields=["shelf"], name="box_one_a_shelf")
    ),
]


def migration(kind, operations):
    return type("Migration", (kind,), {"operations": operations})("0001_store", "store")


def made(kind):
    """Return what the database tells of the tables that a kind of migration makes."""
    with connection.schema_editor() as editor:
        after = migration(kind, OPERATIONS).apply(ProjectState(), editor)
    with connection.cursor() as cursor:
        told = [
            (
                connection.introspection.get_table_description(cursor, table),
                connection.introspection.get_constraints(cursor, table),
            )
            for table in ("store_shelf", "store_box")
        ]
        cursor.execute("DROP TABLE store_shelf, store_box CASCADE")
    return after, told


@pytest.mark.django_db
def test_tables_made_at_once_are_those_made_step_by_step(postgres):
    at_once, step_by_step = made(TablesAtOnce), made(migrations.Migration)

    assert at_once == step_by_step
    assert {"shelf_by_width", "shelf_has_width"} < at_once[1][0][1].keys()


@pytest.mark.django_db
def test_models_are_worked_out_once_for_all(postgres, monkeypatch):
    worked_out, own = [], StateApps.render_multiple

    def render(apps, states):
        worked_out.extend(state.name for state in states)
        own(apps, states)

    monkeypatch.setattr(StateApps, "render_multiple", render)
    before = ProjectState()
    assert before.apps is not None

    with connection.schema_editor(collect_sql=True) as editor:
        migration(TablesAtOnce, OPERATIONS).apply(before, editor)

    assert sorted(worked_out) == ["Box", "Shelf"]


def test_what_does_more_than_make_tables_is_refused():
    filled = [*OPERATIONS, migrations.RunSQL("INSERT INTO store_shelf (width_mm) VALUES (1)")]

    with pytest.raises(TypeError, match="does more than make tables: Raw SQL operation"):
        migration(TablesAtOnce, filled).apply(ProjectState(), None)
