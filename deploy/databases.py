"""How the database is reached: PostgreSQL by its address, else SQLite in a file."""

import sqlite3
from pathlib import Path
from urllib.parse import SplitResult, parse_qs, unquote

from deploy import sqlite

# a page's queries take milliseconds; one that runs on past the web server's own 30 s
# holds locks and a connection for nobody
WEB_STATEMENT_S = 30
# a lock is held as long as one action; who waits longer than this is told to try again
WEB_LOCK_S = 20
KEEP_CONNECTION_S = 60


def database(parts: SplitResult | None, var: Path, *, is_web: bool = False) -> dict:
    """Return Django's settings for the database at this address, or for SQLite in ``var``."""
    if parts is None or parts.scheme == "sqlite":
        return {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": str(var / "fleet.sqlite3") if parts is None else parts.path,
            "OPTIONS": sqlite.options(sqlite3.sqlite_version_info),
        }
    socket_folder = parse_qs(parts.query).get("host", [""])[0]
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": unquote(parts.path.removeprefix("/")),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": socket_folder or parts.hostname or "",
        "PORT": parts.port or "",
        "OPTIONS": options(parts, is_web),
        # kept between pages; a worker's would outlive the process that it was forked from
        "CONN_MAX_AGE": KEEP_CONNECTION_S if is_web else 0,
        "CONN_HEALTH_CHECKS": is_web,
    }


def options(parts: SplitResult, is_web: bool) -> dict[str, object]:
    """Return what libpq is told: the address's own words, and for the web how long to wait."""
    told = {name: values[0] for name, values in parse_qs(parts.query).items() if name != "host"}
    told.setdefault("connect_timeout", 5)
    told.setdefault("application_name", "fleet-web" if is_web else "fleet")
    if is_web:
        waits = {"statement_timeout": WEB_STATEMENT_S, "lock_timeout": WEB_LOCK_S}
        told["options"] = " ".join(f"-c {name}={wait_s}s" for name, wait_s in waits.items())
    return told
