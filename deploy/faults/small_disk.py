"""A disk of 12 MB under a run's folder, that is filled and emptied at will."""

import os
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connections

SIZE_MB = 12
FILLER = "filler"
BLOCK_BYTES = 4096


class CannotMount(Exception):
    """Only root may, and not in every container."""


@contextmanager
def small_disk(var: Path) -> Iterator["Disk"]:
    """Move a run's folder onto a small disk for as long as the block lasts."""
    aside = var.with_name("aside")
    connections.close_all()
    shutil.copytree(var, aside)
    mount = ["mount", "-t", "tmpfs", "-o", f"size={SIZE_MB}m,mode=755", "tmpfs", str(var)]
    if os.geteuid() or subprocess.run(mount, capture_output=True).returncode:
        raise CannotMount
    shutil.copytree(aside, var, dirs_exist_ok=True)
    try:
        yield Disk(var)
    finally:
        connections.close_all()
        shutil.rmtree(aside)
        shutil.copytree(var, aside, ignore=shutil.ignore_patterns(FILLER))
        # lazily: a server may still have its log open there
        subprocess.run(["umount", "-l", str(var)], check=True)
        shutil.copytree(aside, var, dirs_exist_ok=True)


class Disk:
    def __init__(self, folder: Path):
        self.folder = folder

    def fill(self) -> None:
        with (self.folder / FILLER).open("wb", buffering=0) as file:
            try:
                while True:
                    file.write(bytes(BLOCK_BYTES))
            except OSError:
                return

    def free(self) -> None:
        (self.folder / FILLER).unlink()
