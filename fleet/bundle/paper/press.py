"""Sets a document as a PDF, in a child process of its own."""

import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
SOURCE, CHILD = HERE / "paper.typ", HERE / "child.py"
LONGEST_WAIT_S = 300
# more threads and arenas would count against the child's memory
SPARING = {"RAYON_NUM_THREADS": "1", "MALLOC_ARENA_MAX": "1"}


class NotSet(Exception):
    """A document could not be set as a PDF."""


def press(document: dict, to: Path) -> None:
    """Write a document (see blocks.py) as a PDF. Raises NotSet; then no file is there."""
    with tempfile.TemporaryDirectory(prefix=".paper-", dir=to.parent) as folder:
        shutil.copy(SOURCE, folder)
        with (Path(folder) / "paper.json").open("w", encoding="utf-8") as file:
            json.dump(document, file, ensure_ascii=False)
        to.write_bytes(_compiled(folder, to.name))


def _compiled(folder, name):
    # -I: neither this folder nor the environment's paths can lend it a module
    command = [sys.executable, "-I", "-B", str(CHILD), folder]
    try:
        done = subprocess.run(command, capture_output=True, env=SPARING, timeout=LONGEST_WAIT_S)
    except subprocess.TimeoutExpired as error:
        raise NotSet(f"{name} took longer than {LONGEST_WAIT_S} s") from error
    if done.returncode:
        said = done.stderr.decode(errors="replace").strip()[-500:]
        raise NotSet(f"{name}: exit {done.returncode}: {said}")
    return done.stdout
