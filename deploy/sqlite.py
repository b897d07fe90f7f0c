"""How SQLite is opened: writers wait for each other, and a commit survives a power cut."""

from dataclasses import dataclass

LOCK_WAIT_S = 30

FIXED_IN = (3, 51, 3)
FIXED_IN_LINES = {(3, 50): 7, (3, 44): 6}


def wal_is_sound(version: tuple[int, int, int]) -> bool:
    """Say whether this library is free of the WAL-reset fault, which can lose commits.

    The fault is in 3.7.0 to 3.51.2, mended in 3.51.3, 3.50.7 and 3.44.6
    (sqlite.org/wal.html, "The WAL-Reset Bug").
    """
    fixed_at = FIXED_IN_LINES.get(version[:2])
    return version >= FIXED_IN or (fixed_at is not None and version[2] >= fixed_at)


def options(version: tuple[int, int, int]) -> dict[str, object]:
    """Return Django's database OPTIONS for a SQLite library of this version."""
    journal, synchronous = ("WAL", "FULL") if wal_is_sound(version) else ("DELETE", "EXTRA")
    pragmas = [
        f"journal_mode={journal}",
        f"synchronous={synchronous}",
        "foreign_keys=ON",
        # without it INSERT OR REPLACE deletes past the triggers that guard facts
        "recursive_triggers=ON",
    ]
    return {
        "timeout": LOCK_WAIT_S,
        "transaction_mode": "IMMEDIATE",
        "init_command": ";".join(f"PRAGMA {pragma}" for pragma in pragmas),
    }


# what PRAGMA synchronous answers with (sqlite.org/pragma.html#pragma_synchronous)
SYNCHRONOUS = ("OFF", "NORMAL", "FULL", "EXTRA")


@dataclass(frozen=True)
class InForce:
    """How a connection is really opened, whatever was asked for."""

    journal: str
    synchronous: str

    @property
    def survives_power_cut(self) -> bool:
        return self.synchronous in ("FULL", "EXTRA")


def in_force(connection) -> InForce:
    """Return the journal mode and how much is synced, as the connection itself says."""
    with connection.cursor() as cursor:
        journal = cursor.execute("PRAGMA journal_mode").fetchone()[0]
        synchronous = cursor.execute("PRAGMA synchronous").fetchone()[0]
    return InForce(journal, SYNCHRONOUS[synchronous])
