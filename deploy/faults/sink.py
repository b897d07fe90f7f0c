"""A mail server that takes mail, or misbehaves as its folder says.

In the folder: ``mode`` holds one of MODES, and may be rewritten at any time; a line
``address mode`` of ``modes`` rules for one recipient. Each mail taken is one JSON line of
``taken``, written before the answer. Run as ``python -m deploy.faults.sink FOLDER PORT``.
"""

import asyncio
import json
import sys
import time
from email import message_from_bytes
from pathlib import Path

from aiosmtpd.smtp import SMTP

OK, DOWN, GREYLIST, REFUSE, SLOW, DRIP, CLOSE = MODES = (
    "ok",
    "down",
    "greylist",
    "5xx",
    "slow",
    "drip",
    "close-after-250",
)
GREY_S = 5
SLOW_S = 30
DRIP_S = 20


class Sink:
    """Handles conversations (RFC 5321) for aiosmtpd."""

    def __init__(self, folder: Path):
        self.folder = folder
        self.first_seen: dict[str, float] = {}

    def mode(self, address: str = "") -> str:
        own = dict(line.split() for line in self.read("modes").splitlines())
        return own.get(address) or self.read("mode").strip() or OK

    def read(self, name: str) -> str:
        try:
            return (self.folder / name).read_text()
        except FileNotFoundError:
            return ""

    async def handle_RCPT(self, server, session, envelope, address, options):
        mode = self.mode(address)
        if mode == REFUSE:
            return "550 5.1.1 no such mailbox"
        if mode == GREYLIST and self._is_too_soon(address):
            return "451 4.7.1 greylisted, come again"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    def _is_too_soon(self, address):
        now_s = time.monotonic()
        return now_s - self.first_seen.setdefault(address, now_s) < GREY_S

    async def handle_DATA(self, server, session, envelope):
        mail = message_from_bytes(envelope.content)
        taken = {
            "to": envelope.rcpt_tos,
            "id": mail["Message-ID"],
            "subject": mail["Subject"],
            "at": time.time(),
        }
        with (self.folder / "taken").open("ab", buffering=0) as file:
            file.write(json.dumps(taken).encode() + b"\n")
        if self.mode() == CLOSE:
            server.transport.close()
        return "250 taken"


class Conversation(SMTP):
    """One connection: slow to greet, dripping or cut where the mode says so."""

    def connection_made(self, transport):
        if self.event_handler.mode() == DOWN:
            transport.close()
            return
        super().connection_made(transport)

    async def push(self, status):
        mode = self.event_handler.mode()
        if mode == SLOW:
            await asyncio.sleep(SLOW_S)
        if mode == DRIP:
            for letter in status:
                self._writer.write(letter.encode() if isinstance(letter, str) else bytes([letter]))
                await asyncio.sleep(DRIP_S)
        await super().push(status)


async def serve(folder: Path, port: int) -> None:
    sink = Sink(folder)
    loop = asyncio.get_running_loop()
    listening = await loop.create_server(
        lambda: Conversation(sink, hostname="sink", loop=loop), "127.0.0.1", port
    )
    async with listening:
        await listening.serve_forever()


if __name__ == "__main__":
    asyncio.run(serve(Path(sys.argv[1]), int(sys.argv[2])))
