"""PostgreSQL's own programs, run their password in their environment, never in their words."""

import os
import re
import shutil
import subprocess
from pathlib import Path

from psycopg.conninfo import make_conninfo

from deploy.keeping.refused import Refused

NEEDED = "PostgreSQL's {0} is needed and is not there: install Debian's postgresql-client."
COPY = re.compile(rb'COPY \w+\."?(\w+)"? \(.*\) FROM stdin;')
# lines of a dump's list that make the schema or speak of it
OF_SCHEMA = re.compile(r"^\d+; \d+ \d+ (SCHEMA - |(COMMENT|ACL) - SCHEMA )")


def dump(place, snapshot: str, schema: str, to: Path) -> None:
    """Write the tables of a schema as they stand in a snapshot that a connection holds open."""
    words = ["--format=custom", f"--snapshot={snapshot}", f"--schema={schema}", f"--file={to}"]
    run(place, "pg_dump", *words, _address(place))


def as_script(place, dumped: Path, to: Path) -> None:
    """Write out a dump as SQL, without the owners and rights of where it comes from.

    The schema itself is there already; pg_dump names it once its owner was changed.
    """
    contents = to.with_suffix(".list")
    run(place, "pg_restore", "--list", f"--file={contents}", str(dumped))
    kept = [line for line in contents.read_text().splitlines() if not OF_SCHEMA.search(line)]
    contents.write_text("\n".join(kept))
    words = ["--no-owner", "--no-privileges", f"--use-list={contents}", f"--file={to}"]
    run(place, "pg_restore", *words, str(dumped))


def rows_in(script: Path) -> dict[str, int]:
    """Return how many rows a script fills each table with: a line each, as COPY writes them."""
    found, table = {}, None
    with script.open("rb") as lines:
        for line in lines:
            if table is None and (begins := COPY.match(line)):
                table = begins[1].decode("ascii")
                found[table] = 0
            elif line == b"\\.\n":
                table = None
            elif table is not None:
                found[table] += 1
    return found


def do(place, *scripts: Path) -> None:
    """Run SQL from files: all of it or nothing."""
    files = [f"--file={script}" for script in scripts]
    words = ["--no-psqlrc", "--quiet", "--output=/dev/null", "--single-transaction"]
    run(place, "psql", *words, "--set=ON_ERROR_STOP=1", *files, _address(place))


def refuse_older(name: str, server: int) -> None:
    """Refuse a program that is missing, or older than the server it is to ask."""
    ran = subprocess.run([_path(name), "--version"], capture_output=True, text=True)
    found = re.search(r"(\d+)", ran.stdout)
    if found is None or int(found[1]) < server:
        raise Refused(
            f"{name} is of PostgreSQL {found[1] if found else '?'} and the server of {server}: "
            f"install Debian's postgresql-client-{server}."
        )


def run(place, name: str, *words: str) -> None:
    done = subprocess.run(
        [_path(name), *words], env=_environ(place), stderr=subprocess.PIPE, text=True
    )
    if done.returncode:
        raise Refused(f"{name} failed: {_first_line(done.stderr)}")


def _path(name):
    found = shutil.which(name)
    if found is None:
        raise Refused(NEEDED.format(name))
    return found


def _address(place):
    """Return where the database is, without its password."""
    about = place.database
    told = {"host": about["HOST"], "port": about["PORT"], "user": about["USER"]}
    told = {name: value for name, value in told.items() if value} | about.get("OPTIONS", {})
    return "--dbname=" + make_conninfo(dbname=about["NAME"], **told)


def _environ(place):
    password = place.database["PASSWORD"]
    return os.environ | ({"PGPASSWORD": password} if password else {})


def _first_line(text):
    lines = [line for line in text.splitlines() if line.strip()]
    told = next((line for line in lines if "error" in line.lower()), *lines[:1] or [""])
    return told.strip() or "it did not say why"
