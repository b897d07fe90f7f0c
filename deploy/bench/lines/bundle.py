"""What it costs to write the bundle's tables and journal, and the memory that it takes."""

import statistics
import tempfile
import time
from pathlib import Path

from django.apps import apps
from django.db import connection

from deploy.bench import backend
from deploy.bench.child import peak_mib
from deploy.bench.listed import lines
from deploy.bench.pairs import Figure
from deploy.bench.pattern import AT
from fleet.bundle.archive import write_tables
from fleet.bundle.journal import write_entries
from fleet.bundle.scope import Scope
from fleet.bundle.zipping import ZipWriter
from fleet.kinds import Cut
from shared.models import Checkpoint, Entry, Fact, JournalHead, Line, Site
from shared.sealing import tree_of

CARTS, MORE_CARTS = 50, 200
ROUNDS, COPIES = 3, 20
COLUMNS = ("seq", "kind", "cart_id", "fact_id", "received_at", "body", "salt", "leaf")
TABLES = "deploy.bench.lines.bundle:tables_of"


@lines("bundle")
def bundle(world):
    site = world.sites()[0]
    tables = _Ratios(lambda: _copy_facts(site, CARTS), lambda: tables_of(site.slug, CARTS))
    made = _checkpoint(site)
    entries = _Ratios(lambda: _copy(_all_entries(site)), lambda: entries_of(made))
    about = f"tables of {CARTS} carts, hashed and zipped, against COPY of their facts to nowhere"
    yield Figure("bundle-tables", f"{about}: CPU", 2, lambda: tables.found.cpu, "x")
    yield Figure("bundle-tables-wall", f"{about}: time", 1.6, lambda: tables.found.wall, "x")
    about = "entries as lines, their tree grown, against COPY of them to nowhere: CPU"
    yield Figure("bundle-entries", about, 2, lambda: entries.found.cpu, "x")
    yield Figure(
        "bundle-memory",
        f"peak of the tables of {MORE_CARTS} carts over that of the process alone",
        32,
        lambda: peak_mib(world, TABLES, site.slug, str(MORE_CARTS)) - peak_mib(world, ""),
        "MiB",
    )


class _Ratios:
    """How many times as long ours takes: a limit too short for a clock's ticks is repeated."""

    def __init__(self, limit, ours):
        self.limit, self.ours = limit, ours
        self.cpu = self.wall = None

    @property
    def found(self):
        if self.cpu is None:
            rounds = [self._round() for _ in range(ROUNDS)]
            self.wall, self.cpu = (statistics.median(side) for side in zip(*rounds, strict=True))
        return self

    def _round(self):
        limit = _timed(lambda: [self.limit() for _ in range(COPIES)])
        ours = _timed(self.ours)
        return [mine * COPIES / other for mine, other in zip(ours, limit, strict=True)]


def _timed(act):
    wall_s, cpu_s = time.perf_counter(), time.process_time() + backend.cpu_s()
    act()
    return time.perf_counter() - wall_s, time.process_time() + backend.cpu_s() - cpu_s


def scope_of(slug, carts=None) -> Scope:
    scope = Scope(Site.objects.get(slug=slug), Cut(AT, AT))
    if carts:
        scope.cart_ids = scope.cart_ids[: int(carts)]
    return scope


def tables_of(slug, carts) -> None:
    """Write the tables of some carts of a site, and pack them; all is gone afterwards."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "tables"
        write_tables(scope_of(slug, carts), folder, lambda percent: None)
        with ZipWriter(Path(name) / "whole.zip") as archive:
            for path in sorted(folder.iterdir()):
                archive.add_file(f"tables/{path.name}", path)
            archive.finish()


def entries_of(checkpoint) -> None:
    scope = scope_of(checkpoint.site.slug)
    with tempfile.TemporaryDirectory() as name:
        write_entries(scope, checkpoint, Path(name) / "entries", lambda percent: None)


def _checkpoint(site):
    size = JournalHead.objects.get(pk=site.pk).size
    return Checkpoint(site=site, epoch=1, size=size, root=tree_of(site.pk, size).root())


def _copy_facts(site, carts):
    """Read every fact of the carts, and every line of those, as plain columns."""
    ids = scope_of(site.slug, carts).cart_ids
    for model in apps.get_models():
        if issubclass(model, Fact) and hasattr(model, "cart_id"):
            _copy(model.objects.filter(cart_id__in=ids).order_by())
        elif issubclass(model, Line) and hasattr(model.fact.field.related_model, "cart_id"):
            _copy(model.objects.filter(fact__cart_id__in=ids).order_by())


def _all_entries(site):
    return Entry.objects.filter(site=site).order_by("seq").values(*COLUMNS)


def _copy(rows):
    statement, values = rows.query.sql_with_params()
    with (
        connection.cursor() as cursor,
        cursor.copy(f"COPY ({statement}) TO STDOUT", values) as data,
    ):
        for _piece in data:
            pass
