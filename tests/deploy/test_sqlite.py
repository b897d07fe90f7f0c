import sqlite3

import pytest

from deploy.sqlite import options, wal_is_sound


@pytest.mark.parametrize(
    ("version", "sound"),
    [
        ((3, 40, 1), False),
        ((3, 44, 5), False),
        ((3, 44, 6), True),
        ((3, 46, 1), False),
        ((3, 50, 6), False),
        ((3, 50, 7), True),
        ((3, 51, 2), False),
        ((3, 51, 3), True),
        ((3, 52, 0), True),
    ],
)
def test_wal_is_sound_only_where_the_fault_was_mended(version, sound):
    assert wal_is_sound(version) is sound


@pytest.mark.parametrize(
    ("version", "journal", "synchronous"),
    [((3, 51, 2), "delete", 3), ((3, 51, 3), "wal", 2)],
    ids=["faulty", "mended"],
)
def test_options_put_the_pragmas_in_force(tmp_path, version, journal, synchronous):
    connection = sqlite3.connect(tmp_path / "trial.sqlite3")

    for pragma in options(version)["init_command"].split(";"):
        connection.execute(pragma)

    asked = ["journal_mode", "synchronous", "foreign_keys", "recursive_triggers"]
    found = [connection.execute(f"PRAGMA {name}").fetchone()[0] for name in asked]
    connection.close()
    assert found == [journal, synchronous, 1, 1]
