"""The folder, ports and environment of one fault's run: fixed before its process starts."""

import os
import shutil
from dataclasses import dataclass
from pathlib import Path

from servers import PostgreSQL, free_port

WEB, REDIS, SMTP = "web", "redis", "smtp"
SQLITE, POSTGRESQL = "sqlite", "postgresql"
SWEEP_EVERY_S = 2


@dataclass(frozen=True)
class Place:
    """Where one run happens: everything of it lies below ``base``."""

    base: Path
    database: str
    seed: int
    ports: dict[str, int]

    @classmethod
    def made(cls, base: Path, database: str, seed: int) -> "Place":
        for name in ("var", "trials", "redis"):
            (base / name).mkdir(parents=True)
        # PostgreSQL's user must reach its folder below
        base.chmod(0o755)
        return cls(base, database, seed, {name: free_port() for name in (WEB, REDIS, SMTP)})

    @property
    def postgresql(self) -> PostgreSQL:
        # a power cut is not tried here, but nothing is made easier for a crash
        return PostgreSQL(self.base / "postgresql", ("max_connections=200",))

    @property
    def address(self) -> str:
        """Return where the web server answers."""
        return f"http://127.0.0.1:{self.ports[WEB]}"

    @property
    def environ(self) -> dict[str, str]:
        """Return the environment of every process of the run, without the developer's own."""
        mine = {name: said for name, said in os.environ.items() if not name.startswith("FLEET_")}
        if self.database == POSTGRESQL:
            mine["FLEET_DATABASE"] = self.postgresql.address
        return mine | {
            "FLEET_VAR": str(self.base / "var"),
            "FLEET_TRIALS": str(self.base / "trials"),
            "FLEET_BROKER": f"redis://127.0.0.1:{self.ports[REDIS]}/0",
            "FLEET_SMTP": f"smtp://127.0.0.1:{self.ports[SMTP]}",
            "FLEET_URL": self.address,
            "FLEET_SWEEP_EVERY": str(SWEEP_EVERY_S),
            "PYTHONUNBUFFERED": "1",
        }

    def copy_database(self, template: "Place") -> None:
        """Begin with the migrated, empty database of another place that has stopped."""
        if self.database == SQLITE:
            shutil.copy(template.base / "var" / "fleet.sqlite3", self.base / "var")
            return
        shutil.copytree(template.base / "postgresql", self.base / "postgresql")
        own_all(self.postgresql, self.base / "postgresql")


def own_all(server: PostgreSQL, folder: Path) -> None:
    """Give a folder and all in it to the server's user; its data are for that user alone."""
    server.own(folder)
    for path in folder.rglob("*"):
        server.own(path)
    (folder / "data").chmod(0o700)
