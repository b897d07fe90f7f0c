"""One fault's run: what it is told, the database it begins with, what is asked after it."""

import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from deploy.faults.invariants import broken
from deploy.faults.listed import Fault
from deploy.faults.place import POSTGRESQL, Place
from deploy.faults.telling import NotTried, Tally
from deploy.faults.world import ROOT, World

NOT_TRIED = 3


@dataclass(frozen=True)
class Order:
    """What one run is to do, as its process is told; ``older`` is a commit for F24."""

    code: str
    count: int
    base: str
    database: str
    seed: int
    ports: dict[str, int]
    is_long: bool
    older: str = ""

    @property
    def place(self) -> Place:
        return Place(Path(self.base), self.database, self.seed, self.ports)


@contextmanager
def templates(databases: set[str]) -> Iterator[dict[str, Place]]:
    """Yield {database: a place with an empty, migrated one}, stopped."""
    with tempfile.TemporaryDirectory(prefix="faults-") as folder:
        Path(folder).chmod(0o755)
        made = {name: _template(Path(folder) / name, name) for name in databases}
        yield made


def _template(base: Path, database: str) -> Place:
    place = Place.made(base, database, 0)
    migrate = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
    if database != POSTGRESQL:
        subprocess.run(migrate, cwd=ROOT, env=place.environ, check=True)
        return place
    (base / "postgresql").mkdir()
    server = place.postgresql
    server.make()
    server.start()
    try:
        subprocess.run(migrate, cwd=ROOT, env=place.environ, check=True)
    finally:
        server.stop()
    return place


def run_inside(fault: Fault, order: Order) -> Tally:
    """Make the fault, and look whether all holds afterwards that must."""
    tally = Tally(fault.name)
    with World(order.place) as world:
        world.order = order
        try:
            fault.run(world, order.count, tally)
        except NotTried as lacking:
            tally.lacking = str(lacking)
            return tally
        for sentence in broken(world):
            tally.want(False, sentence)
    return tally
