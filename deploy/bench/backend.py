"""What the database did for the present connection: its process's CPU time, its buffers."""

import json
import os
from pathlib import Path

from django.db import connection


def cpu_s() -> float:
    """Return the CPU seconds that the connection's backend has used; 0 on SQLite (proc(5))."""
    if connection.vendor != "postgresql" or connection.connection is None:
        return 0
    pid = connection.connection.info.backend_pid
    words = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(words[11]) + int(words[12])) / os.sysconf("SC_CLK_TCK")


def plan(statement: str, values=()) -> dict:
    """Run a statement and return PostgreSQL's plan of it, with buffers and rows as they were."""
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN (ANALYZE, BUFFERS, FORMAT JSON) {statement}", values)
        said = cursor.fetchone()[0]
    return (json.loads(said) if isinstance(said, str) else said)[0]["Plan"]


def buffers(found: dict) -> int:
    """Return how many pages a plan touched, found in the cache or not."""
    return found["Shared Hit Blocks"] + found["Shared Read Blocks"]


def nodes(found: dict):
    """Yield each node of a plan, from the top."""
    yield found
    for child in found.get("Plans", ()):
        yield from nodes(child)
