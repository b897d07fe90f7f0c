"""A mail server that takes every mail and does no more than note to whom and when.

Each mail taken is a line ``SECONDS ADDRESS BYTES`` of the file ``taken`` in its folder.

Run as ``python -m deploy.bench.taker FOLDER PORT``.
"""

import asyncio
import sys
import time
from pathlib import Path
from typing import NamedTuple

from aiosmtpd.smtp import SMTP
from servers import Server, is_open

ROOT = Path(__file__).resolve().parents[2]
MOST_BYTES = 8 << 20


class Taken(NamedTuple):
    """One mail: when, as time.time() had it, to whom, how long."""

    at_s: float
    address: str
    bytes: int


class Taker(Server):
    """That server as a process of its own."""

    name = "mail server"

    def __init__(self, folder: Path, port: int):
        self.folder, self.port = folder, port

    def start(self) -> None:
        command = [sys.executable, "-m", "deploy.bench.taker", self.folder, str(self.port)]
        self.serve(command, cwd=ROOT)

    def is_up(self) -> bool:
        return is_open(self.port)

    def taken(self) -> list[Taken]:
        file = self.folder / "taken"
        rows = [line.split() for line in file.read_text().splitlines()] if file.exists() else []
        return [Taken(float(at_s), address, int(length)) for at_s, address, length in rows]


class _Notes:
    """Takes what comes, and writes it down before the answer."""

    def __init__(self, folder):
        self.file = (folder / "taken").open("ab", buffering=0)

    async def handle_DATA(self, server, session, envelope):
        (address,) = envelope.rcpt_tos
        self.file.write(b"%f %s %d\n" % (time.time(), address.encode(), len(envelope.content)))
        return "250 taken"


async def serve(folder: Path, port: int) -> None:
    notes, loop = _Notes(folder), asyncio.get_running_loop()
    listening = await loop.create_server(
        lambda: SMTP(notes, hostname="taker", loop=loop, data_size_limit=MOST_BYTES),
        "127.0.0.1",
        port,
    )
    async with listening:
        await listening.serve_forever()


if __name__ == "__main__":
    asyncio.run(serve(Path(sys.argv[1]), int(sys.argv[2])))
