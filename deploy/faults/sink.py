"""A mail server that takes mail, or misbehaves as its folder says.

In the folder: ``mode`` holds one of MODES or a rule, and may be rewritten at any time; a line
``address mode`` of ``modes`` holds for one recipient. A rule is ``STAGE REPLY`` with one of
STAGES, such as ``rcpt 452 4.2.2 mailbox full``; the reply ``cut`` ends the connection in its
place, ``die`` takes the recipient and ends the client by its kill point "after-rcpt". Each mail
taken is one JSON line of ``taken``, written before the answer; each connection is one of
``connections``, and when it ends one of ``held``, in seconds.

Run as ``python -m deploy.faults.sink FOLDER PORT``.
"""

import asyncio
import json
import os
import re
import sys
import time
from email import message_from_bytes
from pathlib import Path

from aiosmtpd.smtp import SMTP, AuthResult

OK, LATE, DOWN, GREYLIST, REFUSE, SLOW, DRIP, CLOSE = MODES = (
    "ok",
    "late",
    "down",
    "greylist",
    "5xx",
    "slow",
    "drip",
    "close-after-250",
)
# "end": not taken; "taken": taken, whatever is answered
CONNECT, EHLO, AUTH, MAIL, RCPT, DATA, END, TAKEN = STAGES = (
    "connect",
    "ehlo",
    "auth",
    "mail",
    "rcpt",
    "data",
    "end",
    "taken",
)
CART_LINK = re.compile(r"/carts/([0-9a-f-]{36})/")
CUT, DIE = "cut", "die"
LATE_S = 0.3
GREY_S = 5
SLOW_S = 30
# below the client's limit for one read, so that each byte begins it anew
DRIP_S = 10
FOR_EVER = "250-there is more\r\n"


class Sink:
    """Handles conversations (RFC 5321) for aiosmtpd."""

    def __init__(self, folder: Path):
        self.folder = folder
        self.first_seen: dict[str, float] = {}

    def mode(self, *addresses: str) -> str:
        own = dict(line.split(None, 1) for line in self.read("modes").splitlines())
        found = [own[address] for address in addresses if address in own]
        return (found or [self.read("mode").strip() or OK])[0]

    def rule(self, stage: str, *addresses: str) -> str:
        """Return the reply that a rule gives at a stage, empty without one."""
        named, _, reply = self.mode(*addresses).partition(" ")
        return reply if named == stage else ""

    def read(self, name: str) -> str:
        try:
            return (self.folder / name).read_text()
        except FileNotFoundError:
            return ""

    def write_down(self, name: str, line: object) -> None:
        with (self.folder / name).open("ab", buffering=0) as file:
            file.write(json.dumps(line).encode() + b"\n")

    def authenticate(self, server, session, envelope, mechanism, login):
        if reply := self.rule(AUTH):
            return AuthResult(success=False, handled=False, message=reply)
        return AuthResult(success=True)

    async def handle_RCPT(self, server, session, envelope, address, options):
        mode = self.mode(address)
        if mode == REFUSE:
            return "550 5.1.1 no such mailbox"
        if mode == GREYLIST and self._is_too_soon(address):
            return "451 4.7.1 greylisted, come again"
        reply = self.rule(RCPT, address) or "250 OK"
        if reply == DIE:
            (Path(os.environ["FLEET_TRIALS"]) / "kill-at-after-rcpt").write_text("0")
            reply = "250 OK"
        if reply.startswith("25"):
            envelope.rcpt_tos.append(address)
        return server.cut_or(reply)

    def _is_too_soon(self, address):
        now_s = time.monotonic()
        return now_s - self.first_seen.setdefault(address, now_s) < GREY_S

    async def handle_DATA(self, server, session, envelope):
        people = envelope.rcpt_tos
        if reply := self.rule(END, *people):
            return server.cut_or(reply)
        mail = message_from_bytes(envelope.content)
        said = {"id": mail["Message-ID"], "subject": mail["Subject"], "at": time.time()}
        said["carts"] = carts_in(mail)
        self.write_down("taken", {"to": people, **said})
        if reply := self.rule(TAKEN, *people):
            return server.cut_or(reply)
        if self.mode(*people) == CLOSE:
            await server.push("250 taken")
            server.transport.close()
        return "250 taken"


def carts_in(mail) -> list[str]:
    """Return the ids of the carts that a mail's plain text links to."""
    texts = [part for part in mail.walk() if part.get_content_type() == "text/plain"]
    words = texts[0].get_payload(decode=True).decode() if texts else ""
    return sorted(set(CART_LINK.findall(words)))


class Conversation(SMTP):
    """One connection: slow to greet, dripping, ruled or cut where the mode says so."""

    def connection_made(self, transport):
        self.began_s = time.time()
        self.event_handler.write_down("connections", self.began_s)
        self.is_talking = self.event_handler.mode() != DOWN
        if not self.is_talking:
            transport.close()
            return
        super().connection_made(transport)

    def connection_lost(self, error):
        self.event_handler.write_down("held", time.time() - self.began_s)
        if self.is_talking:
            super().connection_lost(error)

    def cut_or(self, reply):
        """Return the reply; end the connection first where that is what is asked."""
        if reply == CUT:
            self.transport.close()
        return reply

    async def smtp_EHLO(self, hostname):
        if not await self._is_ruled(EHLO):
            await super().smtp_EHLO(hostname)

    async def smtp_MAIL(self, arg):
        if not await self._is_ruled(MAIL):
            await super().smtp_MAIL(arg)

    async def smtp_DATA(self, arg):
        if not await self._is_ruled(DATA, *self.envelope.rcpt_tos):
            await super().smtp_DATA(arg)

    async def _is_ruled(self, stage, *addresses):
        if reply := self.event_handler.rule(stage, *addresses):
            await super().push(self.cut_or(reply))
        return bool(reply)

    async def push(self, status):
        people = self.envelope.rcpt_tos if self.envelope else []
        mode = self.event_handler.mode(*people)
        await asyncio.sleep({LATE: LATE_S, SLOW: SLOW_S}.get(mode, 0))
        while mode == DRIP:
            for letter in FOR_EVER:
                self._writer.write(letter.encode())
                await self._writer.drain()
                await asyncio.sleep(DRIP_S)
        if str(status).startswith("220 ") and (reply := self.event_handler.rule(CONNECT)):
            status = self.cut_or(reply)
        await super().push(status)


async def serve(folder: Path, port: int) -> None:
    sink = Sink(folder)
    loop = asyncio.get_running_loop()
    ways = {"authenticator": sink.authenticate, "auth_require_tls": False}
    listening = await loop.create_server(
        lambda: Conversation(sink, hostname="sink", loop=loop, **ways), "127.0.0.1", port
    )
    async with listening:
        await listening.serve_forever()


if __name__ == "__main__":
    asyncio.run(serve(Path(sys.argv[1]), int(sys.argv[2])))
