"""What it costs to bring a sheet of meter readings in, its carts' work worked out apart."""

from datetime import timedelta
from pathlib import Path
from unittest import mock

from django.db import connection, transaction

from deploy.bench import child, pattern
from deploy.bench.listed import lines
from deploy.bench.pairs import Figure, Pair
from fleet.actions import imports, project
from fleet.importing.plans import Bringing
from fleet.kinds import register
from shared.models import Membership, Role, Site

# as many rows a cart as a sheet of MANY_ROWS has of a whole site
ROWS, CARTS = 20_000, 200
MANY_ROWS = 100_000
MOST_ROWS = 1_000_000
COPIED = {
    "fleet_reading": "written_at = %s AND source = 'sheet'",
    "shared_entry": "received_at = %s AND kind = 'fleet.reading'",
}


@lines("import")
def import_of_readings(world):
    site = world.sites()[0]
    path = sheet(world.folder / "readings.csv", ROWS, CARTS)
    copied = _rows_of(site, path)
    yield Pair(
        "import-readings",
        f"{ROWS:,} rows read, judged and filed, against COPY of their readings and entries",
        3,
        lambda: _copy(copied),
        lambda: bring(site, path),
    )
    for rows in [MANY_ROWS] if world.scale != "1m" else [MANY_ROWS, MOST_ROWS]:
        yield Figure(
            f"import-memory-{rows // 1000}k",
            f"memory over its base for a sheet of {rows:,} rows",
            48,
            lambda rows=rows: _memory_mib(world, rows),
            "MiB",
        )


def sheet(path: Path, rows: int, carts: int = pattern.CARTS) -> Path:
    """Write a sheet of readings that go with those of the pattern's carts."""
    each = rows // carts
    step = timedelta(days=pattern.HISTORY_DAYS - 2) / each
    begun = pattern.AT - timedelta(days=pattern.HISTORY_DAYS)
    a_day = pattern.hours_a_day(carts)
    with path.open("w") as file:
        file.write("Cart,Read at,Hours,Miles\n")
        for place in range(each):
            since = step * place + timedelta(hours=20)
            at = f"{begun + since:%Y-%m-%d %H:%M}Z"
            for number, hours in enumerate(a_day):
                run = since.days * hours
                file.write(f"{number:04},{at},{100 + run},{800 + 8 * run}\n")
    return path


def bring(site, path: Path) -> None:
    """Bring a sheet in, keep nothing of it."""
    with transaction.atomic():
        counts = brought_in(site, path)
        if counts["new"] < ROWS:
            raise RuntimeError(f"the sheet brought in {counts}")
        transaction.set_rollback(True)


def brought_in(site, path):
    """Bring a sheet in, its carts' work left as it was; return what was counted."""
    manager = Membership.objects.get(site=site, role=Role.MANAGER).person
    bringing = Bringing(site, manager, pattern.AT)
    with mock.patch.object(project, "carts", lambda ids: 0):
        report = imports.bring_in(register.importers["readings"], path, path.name, bringing)
    connection.check_constraints()
    return report["counts"]


def _rows_of(site, path):
    """Return {table: its rows as COPY writes them} of all that a sheet brings in."""
    with transaction.atomic(), connection.cursor() as cursor:
        brought_in(site, path)
        found = {}
        for table, which in COPIED.items():
            statement = f"COPY (SELECT * FROM {table} WHERE {which}) TO STDOUT"
            with cursor.copy(cursor.mogrify(statement, [pattern.AT])) as copy:
                found[table] = b"".join(bytes(some) for some in copy)
        transaction.set_rollback(True)
    return found


def _copy(rows):
    with transaction.atomic(), connection.cursor() as cursor:
        for table, told in rows.items():
            with cursor.copy(f"COPY {table} FROM STDIN") as copy:
                copy.write(told)
        connection.check_constraints()
        transaction.set_rollback(True)


def _memory_mib(world, rows):
    path = sheet(world.folder / f"readings-{rows}.csv", rows)
    slug = world.sites()[0].slug
    inside = "deploy.bench.lines.importing:bring_inside"
    return child.peak_mib(world, inside, slug, str(path)) - child.peak_mib(world, "")


def bring_inside(slug: str, path: str) -> None:
    """Bring a sheet in, within a process of its own."""
    bring(Site.objects.get(slug=slug), Path(path))
