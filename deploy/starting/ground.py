"""What must hold on this machine before anything is started."""

import argparse
import contextlib
import errno
import fcntl
import os
import shutil
import socket
import sys
from collections.abc import Iterator
from pathlib import Path

from fault import CannotStart

INSTALL_FREE_MB = 500
RUN_FREE_MB = 50

PORT_FAULTS = {
    errno.EADDRINUSE: "port {port} is taken; choose another one with --port",
    errno.EACCES: "port {port} is for root alone; choose one above 1023 with --port",
    errno.EADDRNOTAVAIL: "this machine does not have the address {host}; see --host",
}


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def mention_root() -> None:
    if os.geteuid() == 0:
        say("It runs as root: good enough for a trial, for daily use give it a user of its own.")


def port_number(typed: str) -> int:
    if not typed.isdecimal() or not 1 <= int(typed) <= 65535:
        raise argparse.ArgumentTypeError(f"a port is a number from 1 to 65535, not {typed!r}")
    return int(typed)


def make_folder(path: Path) -> None:
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CannotStart(f"cannot make the folder {path}: {error.strerror}") from error


def check_disk(path: Path, needed_mb: int) -> None:
    free_mb = shutil.disk_usage(path).free // 1_000_000
    if free_mb < needed_mb:
        raise CannotStart(f"{free_mb} MB are free at {path}, and {needed_mb} MB are needed")


def check_port(host: str, port: int) -> None:
    try:
        family, kind, *_, place = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        with socket.socket(family, kind) as trial:
            # the server does the same: a port just closed counts as free
            trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            trial.bind(place)
            trial.listen()
    except socket.gaierror as error:
        raise CannotStart(f"--host {host} is not an address of this machine") from error
    except OSError as error:
        line = PORT_FAULTS.get(error.errno, "cannot open port {port}: {error.strerror}")
        raise CannotStart(line.format(host=host, port=port, error=error)) from error


@contextlib.contextmanager
def only_one(path: Path) -> Iterator[None]:
    """Hold this file's lock; whoever comes second is told who holds it."""
    try:
        lock = open(path, "a+")  # noqa: SIM115 - the with below closes it
    except OSError as error:
        raise CannotStart(f"cannot write {path}: {error.strerror}") from error
    with lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            lock.seek(0)
            raise CannotStart(f"it is running already, as process {lock.read()}") from None
        lock.truncate(0)
        lock.write(str(os.getpid()))
        lock.flush()
        yield
