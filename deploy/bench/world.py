"""The fleets that a run of the benchmark measures: one database a scale, on a server of its own."""

import tempfile
from contextlib import ExitStack, contextmanager
from pathlib import Path
from unittest import mock

from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, connections
from django.test.utils import override_settings
from servers import PostgreSQL

from deploy.bench import copies, pattern
from fleet.models import Cart
from shared import clock
from shared.models import Membership, Role, Site

# copies of the pattern site; with the pattern itself not counted
SCALES = {"10k": 10, "100k": 100, "1m": 1_000}
WORKING_SITES = 10
# enough to hold the working set, and no worker whose CPU would be another's
SERVER = (
    "shared_buffers=1GB",
    "max_wal_size=4GB",
    "max_parallel_workers_per_gather=0",
    "max_parallel_maintenance_workers=2",
    "maintenance_work_mem=512MB",
    "autovacuum=off",
)


class World:
    """The scales of one run, each a database that ``at`` makes Django's default one.

    ``copies`` says how many sites each scale has, ``carts`` how many carts each site.
    ``at_moment`` is when everything happens: within ``at`` the clock stands there.
    """

    at_moment = pattern.AT

    def __init__(self, server: PostgreSQL, folder: Path, copies: dict[str, int], carts: int, say):
        self.server, self.folder, self.say = server, folder, say
        self.copies, self.each = copies, carts
        self.scales = list(copies)
        self.scale = self.scales[0]
        self._connections = {}

    @contextmanager
    def at(self, scale: str):
        """Make a scale's database the default one; its connection stays open between."""
        before, self.scale = self.scale, scale
        try:
            with self._as_default(f"fleet_{scale}"):
                yield self
        finally:
            self.scale = before

    def sites(self) -> list[Site]:
        """Return the ten sites that are measured, the same ones at each scale."""
        slugs = [f"{pattern.SLUG}-{number}" for number in range(1, WORKING_SITES + 1)]
        found = {site.slug: site for site in Site.objects.filter(slug__in=slugs)}
        return [found[slug] for slug in slugs if slug in found]

    def person(self, site: Site, role: Role):
        return Membership.objects.select_related("person").get(site=site, role=role).person

    def manager(self, site):
        return self.person(site, Role.MANAGER)

    def mechanic(self, site):
        return self.person(site, Role.MECHANIC)

    def desk(self, site):
        return self.person(site, Role.DESK)

    def carts(self, site):
        return Cart.objects.filter(site=site).select_related("site").order_by("number")

    @property
    def address(self) -> str:
        """Return where a process of its own finds the present scale's database."""
        return self.server.address.replace("/postgres?", f"/fleet_{self.scale}?")

    def make(self, lists_only: frozenset[str] = frozenset()) -> None:
        """Make the pattern once, then each scale as copies of it.

        The scales in ``lists_only`` get what lists are read from, and no facts of copies.
        """
        self._create("fleet_empty", "template0")
        with self._as_default("fleet_empty"):
            self.say("making the pattern site")
            call_command("migrate", verbosity=0)
            pattern.make(self.each)
            copies.tidy()
        self._connections.pop("fleet_empty").close()
        for scale, number in self.copies.items():
            self._create(f"fleet_{scale}", "fleet_empty")
            with self.at(scale):
                self.say(f"{scale}: {number:,} sites of {self.each:,} carts")
                facts = copies.kept() if scale in lists_only else frozenset()
                copies.multiply(number, without=facts, say=self.say)

    def close(self) -> None:
        for open_one in self._connections.values():
            open_one.close()

    def _create(self, name, template):
        with self._connection("postgres").cursor() as cursor:
            cursor.execute(f'CREATE DATABASE "{name}" TEMPLATE "{template}"')

    @contextmanager
    def _as_default(self, name):
        before = connections[DEFAULT_DB_ALIAS]
        connections[DEFAULT_DB_ALIAS] = self._connection(name)
        try:
            with _apart(self.folder):
                yield
        finally:
            connections[DEFAULT_DB_ALIAS] = before

    def _connection(self, name):
        if name not in self._connections:
            self._connections[name] = self._opened(name)
        return self._connections[name]

    def _opened(self, name):
        settings = connections.settings[DEFAULT_DB_ALIAS] | {
            "ENGINE": "django.db.backends.postgresql",
            "NAME": name,
            "USER": "test",
            "PASSWORD": "",
            "HOST": str(self.server.base),
            "PORT": "",
            "CONN_MAX_AGE": None,
            "OPTIONS": {},
        }
        with mock.patch.dict(connections.settings, {DEFAULT_DB_ALIAS: settings}):
            return connections.create_connection(DEFAULT_DB_ALIAS)


@contextmanager
def made(scales: dict[str, int], say=lambda text: None, carts=pattern.CARTS, **how):
    """Yield a world of ``{scale: sites}``; its server and all it holds are gone afterwards."""
    with ExitStack() as stack:
        folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="fleet-bench-")))
        # PostgreSQL's user must reach its folder below
        folder.chmod(0o755)
        (folder / "postgresql").mkdir()
        server = PostgreSQL(folder / "postgresql", SERVER)
        server.make()
        server.start()
        stack.callback(server.stop)
        world = World(server, folder, scales, carts, say)
        stack.callback(world.close)
        world.make(**how)
        yield world


@contextmanager
def _apart(folder):
    """Keep files and the clock of a run from the tool's own."""
    own = {name: folder / name.lower() for name in ("MEDIA_ROOT", "KEYS", "CHECKPOINTS")}
    with override_settings(**own), mock.patch.object(clock, "now", lambda: pattern.AT):
        yield
