"""What it costs to write the bundle's tables and journal, and the memory that it takes."""

import statistics
import tempfile
import time
from math import inf
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
from fleet.bundle.scope import Scope, batches
from fleet.bundle.zipping import ZipWriter
from fleet.kinds import Cut
from shared.models import Checkpoint, Entry, Fact, JournalHead, Line, Site
from shared.sealing import tree_of

CARTS = 200
ROUNDS, COPIES = 3, 20
COLUMNS = ("seq", "kind", "cart_id", "fact_id", "received_at", "body", "salt", "leaf")
TABLES = "deploy.bench.lines.bundle:tables_of"


@lines("bundle")
def bundle(world):
    site = world.sites()[0]
    facts, made = _facts(site, CARTS), _checkpoint(site)
    tables = _Ratios(lambda: _copy(facts), lambda: tables_of(site.slug, CARTS))
    judged = _Ratios(lambda: _copy(facts), lambda: judge(site.slug, CARTS))
    journal = [_all_entries(site).query.sql_with_params()]
    entries = _Ratios(lambda: _copy(journal), lambda: entries_of(made))
    about = f"tables of {CARTS} carts, hashed and zipped, against COPY of their facts to nowhere"
    yield Figure("bundle-tables", f"{about}: CPU", 2, lambda: tables.found.cpu, "x")
    yield Figure("bundle-tables-wall", f"{about}: time", 1.6, lambda: tables.found.wall, "x")
    about = f"of that, only to read the facts of {CARTS} carts and judge them: CPU"
    yield Figure("bundle-judged", about, inf, lambda: judged.found.cpu, "x")
    about = "entries as lines, their tree grown, against COPY of them to nowhere: CPU"
    yield Figure("bundle-entries", about, 2, lambda: entries.found.cpu, "x")
    yield Figure(
        "bundle-memory",
        f"peak of the tables of {CARTS} carts over that of the process alone",
        32,
        lambda: peak_mib(world, TABLES, site.slug, str(CARTS)) - peak_mib(world, ""),
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


def judge(slug, carts) -> None:
    """Read the facts of some carts and work out what they amount to; write nothing."""
    for _batch in batches(scope_of(slug, carts)):
        pass


def entries_of(checkpoint) -> None:
    scope = scope_of(checkpoint.site.slug)
    with tempfile.TemporaryDirectory() as name:
        write_entries(scope, checkpoint, Path(name) / "entries", lambda percent: None)


def _checkpoint(site):
    size = JournalHead.objects.get(pk=site.pk).size
    return Checkpoint(site=site, epoch=1, size=size, root=tree_of(site.pk, size).root())


def _facts(site, carts):
    """Return the statements that read every fact of the carts, and every line of those."""
    ids = scope_of(site.slug, carts).cart_ids
    asked = ((model, _by_cart(model)) for model in apps.get_models())
    rows = (model.objects.filter(**{by: ids}).order_by() for model, by in asked if by)
    return [one.query.sql_with_params() for one in rows]


def _by_cart(model):
    """Return the lookup by which a model's rows are those of carts; nothing where they are not."""
    is_line = issubclass(model, Line)
    of_fact = model.fact.field.related_model if is_line else model
    is_told = issubclass(of_fact, Fact) and hasattr(of_fact, "cart_id")
    return ("fact__cart_id__in" if is_line else "cart_id__in") if is_told else ""


def _all_entries(site):
    return Entry.objects.filter(site=site).order_by("seq").values(*COLUMNS)


def _copy(statements):
    with connection.cursor() as cursor:
        for statement, values in statements:
            with cursor.copy(f"COPY ({statement}) TO STDOUT", values) as data:
                for _piece in data:
                    pass
